"""The raw document: bytes to text to nested values, with the built-in catalogue laid under it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from simstore.errors import Problem

Document = dict[str, Any]
DEEPEST = 12
"""A scenario's keys lie five deep at most."""
COMMERCIAL_KEYS = frozenset({"label", "price_per_kg", "source", "loss_per_cycle_pct", "fade_per_cycle_pct"})
"""Keys of a built-in entry that a scenario may change without touching what its source vouches for."""


def decoded(data: bytes, name: str) -> str | Problem:
    """Text of a UTF-8 file, with or without a byte order mark; otherwise the problem."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Problem(file=name, line=1, rule="is in UTF-16", cure="save it as UTF-8 (in a spreadsheet: CSV UTF-8)")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return Problem(
            file=name,
            line=line,
            value=f"byte 0x{data[error.start]:02x}",
            rule="is not UTF-8, perhaps Windows-1252",
            cure="save it as UTF-8 (in a spreadsheet: CSV UTF-8)",
        )


def parsed(text: str, name: str) -> Document | Problem:
    """Tables of a TOML text, arrays as tuples; otherwise the problem, with the line where reading stopped."""
    try:
        document = tomllib.loads(text)
        if _is_deeper(document, DEEPEST):
            rule = f"has keys within keys, more than {DEEPEST} deep"
            return Problem(file=name, rule=rule, cure="take the starter's file for a pattern")
        return {key: frozen(value) for key, value in document.items()}
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        return _syntax_problem(str(error), text, name)


def _is_deeper(value: Any, levels: int) -> bool:
    """Whether tables and arrays lie in one another more than so many levels deep."""
    inner = value.values() if isinstance(value, Mapping) else value if isinstance(value, list) else ()
    return levels < 0 or any(_is_deeper(part, levels - 1) for part in inner)


def _syntax_problem(message: str, text: str, name: str) -> Problem:
    found = re.search(r"\s*\(at line (\d+), column \d+\)|\s*\(at end of document\)", message)
    lines = text.splitlines() or [""]
    line, reason = len(lines), message
    if found:
        reason = message[: found.start()]
        line = int(found.group(1)) if found.group(1) else len(lines)
    written = lines[line - 1].strip() if line <= len(lines) else ""
    cure = "write key = value, text in double quotes, one statement a line"
    if "overwrite" in reason.lower() or "twice" in reason.lower() or "mutate" in reason.lower():
        cure = "the same key or [table] stands twice; keep one"
    elif re.match(r"^[^#=]*=\s*-?\d+,\d+", written):
        cure = "write decimals with a point: 1.5, not 1,5"
    return Problem(file=name, line=line, value=written[:60], rule=f"is not TOML ({reason})", cure=cure)


def frozen(value: Any) -> Any:
    """Copy with every list as a tuple, since a scenario has no lists and strict checking tells them apart."""
    if isinstance(value, Mapping):
        return {key: frozen(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return tuple(frozen(part) for part in value)
    return value


def nested(value: Any) -> Any:
    """Independent copy of a document, tuples as they are."""
    if isinstance(value, Mapping):
        return {key: nested(part) for key, part in value.items()}
    if isinstance(value, tuple):
        return tuple(nested(part) for part in value)
    return value


@cache
def _catalogue() -> Document:
    text = files("simstore.scenario").joinpath("catalogue.toml").read_text(encoding="utf-8")
    return {key: frozen(value) for key, value in tomllib.loads(text).items()}


def catalogue() -> Document:
    """Built-in films, sorbents and indicators, each with its source."""
    return nested(_catalogue())  # type: ignore[no-any-return]


def with_catalogue(document: Document) -> Document:
    """Lay the built-in entries under those of ``document``; the document wins, key by key.

    An isotherm is replaced whole. An entry whose sourced figures are changed says so in its source.
    """
    merged = nested(document)
    for section, entries in catalogue().items():
        own = merged.get(section, {})
        if not isinstance(own, dict):
            continue
        for name, entry in entries.items():
            changed = own.get(name, {})
            if not isinstance(changed, dict):
                continue
            physical = sorted(key for key in changed if key not in COMMERCIAL_KEYS and changed[key] != entry.get(key))
            if physical and "source" not in changed:
                entry["source"] += f"; the scenario gives its own {', '.join(physical)}"
            if "isotherm" in changed and "lower_bound" in entry:
                entry["lower_bound"] = False
            own[name] = {**entry, **changed}
        merged[section] = own
    return merged  # type: ignore[no-any-return]


def with_flat_changes(document: Document) -> Document:
    """Accept ``ovens.small.count = 2`` unquoted in changes and searches, which TOML reads as tables."""
    search, plans = document.get("search"), document.get("plans")
    if isinstance(search, dict) and isinstance(search.get("vary"), dict):
        search["vary"] = _flat(search["vary"])
    for plan in plans.values() if isinstance(plans, dict) else ():
        if isinstance(plan, dict) and isinstance(plan.get("changes"), dict):
            plan["changes"] = _flat(plan["changes"])
    return document


def _flat(table: Mapping[str, Any]) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict) and value:
            flat.update({f"{key}.{rest}": part for rest, part in _flat(value).items()})
        else:
            flat[key] = value
    return flat
