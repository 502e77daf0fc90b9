"""Turns the checker's error types into sentences that say what is wrong, what is allowed and what to do."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from simstore.scenario.checking.finding import Finding, KeyPath, dotted, shown, suggestion
from simstore.scenario.checking.key_paths import (
    Place,
    is_named_table,
    keys_at,
    members,
    models,
    own_keys,
    place_of,
    range_text,
)

ErrorDetails = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Fault:
    """One complaint of the checker, with what stands around it."""

    item: ErrorDetails
    path: KeyPath
    model: type[BaseModel]
    document: Any


BOUND_TYPES = frozenset({"greater_than", "greater_than_equal", "less_than", "less_than_equal"})
TYPE_WORDS = {
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text in double quotes",
    "bool_type": "true or false",
    "date_type": "a date without time and quotes",
    "tuple_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}


def findings_of(error: ValidationError, document: Any, model: type[BaseModel]) -> list[Finding]:
    """All findings of one failed check, each once, at the path where the user wrote the value.

    Parameters
    ----------
    error : ValidationError
        What the check of ``document`` against ``model`` raised.
    document : dict
        The checked document; arrays are tuples.
    model : type
        The value class of the whole document.
    """
    found: dict[KeyPath, Finding] = {}
    details = error.errors(include_url=False, include_context=True)
    broken_inside = {_written_path(item["loc"], document)[0] for item in details}
    for item in details:
        path, tags = _written_path(item["loc"], document)
        if _is_other_branch(item, document, path, tags):
            continue
        if item["type"] == "too_short" and any(len(p) > len(path) and p[: len(path)] == path for p in broken_inside):
            continue
        found.setdefault(path, _finding(Fault(item, path, model, document)))
    return list(found.values())


def _written_path(loc: tuple[str | int, ...], document: Any) -> tuple[KeyPath, tuple[str, ...]]:
    """Split an error's location into keys of the document and the names of union branches."""
    path: list[str | int] = []
    tags: list[str] = []
    here = document
    for position, key in enumerate(loc):
        if isinstance(here, dict) and key in here:
            here = here[key]
            path.append(key)
        elif isinstance(here, tuple) and isinstance(key, int):
            here = here[key] if key < len(here) else None
            path.append(key)
        elif position == len(loc) - 1 and isinstance(here, dict) and not _is_tag(key):
            path.append(key)
        else:
            tags.append(str(key))
    return tuple(path), tuple(tags)


def _is_tag(key: str | int) -> bool:
    return isinstance(key, str) and bool(re.match(r"(constrained-|dict\[)|(float|int|str|bool|Lognormal)$", key))


def _is_other_branch(item: ErrorDetails, document: Any, path: KeyPath, tags: tuple[str, ...]) -> bool:
    """Whether the complaint is about an alternative that the user did not mean: a table for a number or back."""
    value = _at(document, path)
    if not tags:
        return False
    meant_table = isinstance(value, dict)
    wants_table = tags[-1] == "Lognormal" or tags[-1].startswith("dict[")
    return item["type"] in {*TYPE_WORDS} and meant_table != wants_table


def _at(document: Any, path: KeyPath) -> Any:
    here = document
    for key in path:
        if isinstance(here, dict):
            here = here.get(str(key))
        elif isinstance(here, tuple) and isinstance(key, int) and key < len(here):
            here = here[key]
        else:
            return None
    return here


def _finding(fault: Fault) -> Finding:
    item, path = fault.item, fault.path
    kind = str(item["type"])
    key = str(path[-1]) if path else ""
    place = place_of(fault.model, path)
    maker = _MAKERS.get(kind)
    if kind in BOUND_TYPES:
        return Finding(
            path=path, value=shown(item["input"]), rule=f"must be {range_text(place, key)}", cure=_unit_hint(key)
        )
    if kind in TYPE_WORDS:
        return _wrong_type(item, path, place)
    if maker is not None:
        return maker(fault)
    return Finding(path=path, value=shown(item["input"]), rule=f"is not accepted ({item['msg']})", cure="correct it")


def _unit_hint(key: str) -> str:
    hints = {
        "_m3": "a litre is 0.001 m3",
        "_m2": "10 cm x 10 cm is 0.01 m2",
        "_kg": "a gram is 0.001 kg",
        "_c": "give degrees Celsius",
        "_um": "a millimetre is 1000 um",
    }
    return next((hint for suffix, hint in hints.items() if key.endswith(suffix)), "give a value in this range")


def _wrong_type(item: ErrorDetails, path: KeyPath, place: Place | None) -> Finding:
    value = item["input"]
    wanted = TYPE_WORDS[item["type"]]
    if isinstance(value, str):
        return _text_instead(path, value, wanted)
    cure = f"give {wanted}"
    if _is_any_scalar(place):
        return Finding(
            path=path, value=shown(value), rule="must be one value", cure="give a number, true, false or text in quotes"
        )
    if wanted == "a table":
        cure = f"write a table [{dotted(path)}] with its keys below"
        if place is not None and keys_at(place.annotation):
            cure += f": {', '.join(sorted(keys_at(place.annotation))[:8])}"
    elif wanted.startswith("text"):
        cure = f'write "{value}"' if isinstance(value, int | float) and not isinstance(value, bool) else cure
    elif wanted.startswith("a date"):
        cure = "write it as 2026-01-31"
    elif wanted.startswith("a list"):
        cure = f"write [{shown(value)}]"
    elif isinstance(value, bool):
        cure = "give a number, not true or false"
    elif wanted == "a whole number":
        cure = "write digits without a decimal point"
    return Finding(path=path, value=shown(value), rule=f"must be {wanted}", cure=cure)


def _is_any_scalar(place: Place | None) -> bool:
    return place is not None and {bool, str} <= {*members(place.annotation)}


def _text_instead(path: KeyPath, value: str, wanted: str) -> Finding:
    if "number" in wanted:
        cure = "write it without quotes"
        if re.fullmatch(r"\s*-?\d+,\d+\s*", value):
            cure = f"write {value.strip().replace(',', '.')} without quotes"
        elif not re.fullmatch(r"\s*-?\d+(\.\d+)?\s*", value):
            cure = f"write {wanted} without quotes, the unit is in the key's name"
    elif wanted.startswith("a date"):
        cure = "write it as 2026-01-31 without quotes"
    elif wanted == "true or false":
        cure = "write true or false without quotes"
    elif wanted == "a table":
        cure = f"write a table [{dotted(path)}] with its keys below"
    else:
        cure = f"write [{shown(value)}]"
    return Finding(path=path, value=shown(value), rule=f"is text, must be {wanted}", cure=cure)


def _missing(fault: Fault) -> Finding:
    path = fault.path
    if path and isinstance(path[-1], int):
        return Finding(
            path=path[:-1],
            value=shown(_at(fault.document, path[:-1])),
            rule="has too few parts",
            cure="give two values",
        )
    place = place_of(fault.model, path)
    what = place.field.description if place is not None and place.field is not None else None
    table = dotted(path[:-1])
    where = f" to [{table}]" if table else " at the top of the file"
    cure = f"add {path[-1]} = ...{where}" + (f" ({what})" if what else "")
    if place is not None and (is_named_table(place.annotation) or keys_at(place.annotation)):
        cure = f"add a table [{dotted(path)}{'.NAME' if is_named_table(place.annotation) else ''}]"
    return Finding(path=path, rule="is missing", cure=cure)


def _unknown(fault: Fault) -> Finding:
    item, path = fault.item, fault.path
    around = place_of(fault.model, path[:-1])
    allowed = keys_at(around.annotation) if around is not None else set()
    siblings = _at(fault.document, path[:-1])
    form = siblings.get("form") if isinstance(siblings, dict) else None
    if around is not None and "form" in allowed and form is not None:
        allowed = _keys_of_form(around, str(form)) or allowed
    return Finding(path=path, value=shown(item["input"]), rule="unknown key", cure=suggestion(str(path[-1]), allowed))


def _keys_of_form(place: Place, form: str) -> set[str]:
    for model in models(place.annotation):
        if model.model_fields["form"].default == form:
            return set(own_keys(model))
    return set()


def _literal(fault: Fault) -> Finding:
    item, path = fault.item, fault.path
    expected = str(item["ctx"]["expected"])
    allowed = re.findall(r"'([^']*)'", expected) or [expected]
    cure = suggestion(str(item["input"]), allowed) if len(allowed) > 1 else "choose one of them"
    return Finding(path=path, value=shown(item["input"]), rule=f"must be one of: {expected}", cure=cure)


def _form(fault: Fault) -> Finding:
    path = fault.path
    allowed = ("narrow_pore", "dubinin_astakhov", "toth", "data_sheet")
    form = _at(fault.document, (*path, "form"))
    if form is None:
        rule = "is missing"
        cure = f"add form = ... ({', '.join(allowed)})"
        return Finding(path=(*path, "form"), rule=rule, cure=cure)
    return Finding(
        path=(*path, "form"),
        value=shown(form),
        rule=f"must be one of: {', '.join(allowed)}",
        cure=suggestion(str(form), allowed),
    )


def _length(fault: Fault) -> Finding:
    item, path = fault.item, fault.path
    context = item["ctx"]
    if "max_length" in context:
        rule = (
            f"has {context.get('actual_length') or len(item['input'])} parts, at most {context['max_length']} allowed"
        )
        if isinstance(item["input"], str):
            rule = f"is longer than {context['max_length']} characters"
        return Finding(path=path, value=shown(item["input"]), rule=rule, cure="shorten it")
    if isinstance(item["input"], str):
        return Finding(path=path, value=shown(item["input"]), rule="is empty", cure="give a text")
    rule = f"has {context['actual_length']} parts, at least {context['min_length']} needed"
    cure = f"add a table [{dotted(path)}.NAME]" if isinstance(item["input"], dict) else "add what is missing"
    return Finding(path=path, value=shown(item["input"]), rule=rule, cure=cure)


def _pattern(fault: Fault) -> Finding:
    item, path = fault.item, fault.path
    rule = "may hold letters, digits, blanks and _ . - only, and begins with a letter or digit"
    return Finding(path=path, value=shown(item["input"]), rule=rule, cure="rename it")


def _infinite(fault: Fault) -> Finding:
    item, path = fault.item, fault.path
    return Finding(path=path, value=shown(item["input"]), rule="is not a finite number", cure="give a number")


_MAKERS: dict[str, Callable[[Fault], Finding]] = {
    "missing": _missing,
    "extra_forbidden": _unknown,
    "literal_error": _literal,
    "union_tag_invalid": _form,
    "union_tag_not_found": _form,
    "too_short": _length,
    "too_long": _length,
    "string_too_short": _length,
    "string_too_long": _length,
    "string_pattern_mismatch": _pattern,
    "finite_number": _infinite,
}
