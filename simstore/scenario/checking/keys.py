"""Dotted keys such as ``ovens.small.count``: looked up in the value classes, applied to a document."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from simstore.scenario.checking.document import Document, nested
from simstore.scenario.checking.finding import Finding, KeyPath, shown, suggestion
from simstore.scenario.checking.key_paths import Place, is_named_table, keys_at, place_of
from simstore.scenario.values.plan import Scalar
from simstore.scenario.values.settings import Settings

FIXED_FOR_PLANS = {
    "title": "a plan keeps the scenario's title",
    "note": "a plan keeps the scenario's note",
    "start": "all plans of a scenario cover the same days",
    "years": "all plans of a scenario cover the same days",
    "days": "all plans of a scenario cover the same days",
    "seed": "all plans of a scenario share their luck",
    "register": "all plans of a scenario keep the same objects; use a programme to house them otherwise",
    "default_plan": "a plan cannot say which plan is run",
    "plans": "set the plan's own keys in its own table",
    "groups": "all plans of a scenario keep the same objects",
    "search": "a plan cannot change what is searched",
    "arrivals": "all plans of a scenario keep the same objects",
}
"""First keys that a plan's own changes may not touch, and why."""


def changed(document: Document, changes: Mapping[str, Scalar]) -> tuple[Document, dict[str, Finding]]:
    """Apply ``changes`` to a copy of ``document``.

    Returns
    -------
    dict
        The changed copy; keys that do not exist are left out.
    dict
        The finding of each change that could not be applied, by its dotted key.
    """
    copy = nested(document)
    refused: dict[str, Finding] = {}
    for key, value in changes.items():
        path = split(key)
        finding = unknown_part(path, copy, value)
        if finding is not None:
            refused[key] = finding
        else:
            copy = _with(copy, path, _as_date(value, path))
    return copy, refused


def split(key: str) -> KeyPath:
    """Key path of a dotted key; whole numbers are positions in an array."""
    return tuple(int(part) if part.isdigit() else part for part in key.split("."))


def unknown_part(path: KeyPath, document: Document, value: object) -> Finding | None:
    """Say where ``path`` leaves what a scenario may hold or what ``document`` defines; None if it does not."""
    here: Any = document
    for depth, key in enumerate(path):
        around = place_of(Settings, path[:depth])
        if around is None or place_of(Settings, path[: depth + 1]) is None:
            return _unknown(path, depth, around, value)
        named = is_named_table(around.annotation) and not keys_at(around.annotation)
        if named and depth < len(path) - 1 and not (isinstance(here, dict) and key in here):
            names = here if isinstance(here, dict) else {}
            rule = f"there is no '{key}' in [{'.'.join(str(part) for part in path[:depth])}]"
            return Finding(path=path, value=shown(value), rule=rule, cure=suggestion(str(key), names))
        if isinstance(key, int):
            if not isinstance(here, tuple) or key >= len(here):
                size = len(here) if isinstance(here, tuple) else 0
                rule = f"there is no part number {key}"
                return Finding(path=path, value=shown(value), rule=rule, cure=f"count from 0, there are {size}")
            here = here[key]
        else:
            here = here.get(key) if isinstance(here, dict) else None
    return _not_a_whole_table(path, value)


def _unknown(path: KeyPath, depth: int, around: Place | None, value: object) -> Finding:
    allowed = keys_at(around.annotation) if around is not None else set()
    cure = suggestion(str(path[depth]), allowed) if allowed else "nothing stands below this key"
    return Finding(path=path, value=shown(value), rule=f"unknown key '{path[depth]}'", cure=cure)


def _not_a_whole_table(path: KeyPath, value: object) -> Finding | None:
    place = place_of(Settings, path)
    if place is None or not keys_at(place.annotation) or isinstance(value, bool | int | float):
        return None
    names = ", ".join(sorted(keys_at(place.annotation))[:6])
    return Finding(path=path, value=shown(value), rule="names a table, not one value", cure=f"go on to a key: {names}")


def _as_date(value: Scalar, path: KeyPath) -> Scalar | date:
    """Read text as a date where a date belongs, since a change is a plain value."""
    place = place_of(Settings, path)
    if place is not None and place.annotation in (date, date | None) and isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    return value


def _with(here: Any, path: KeyPath, value: object) -> Any:
    if not path:
        return value
    key, rest = path[0], path[1:]
    if isinstance(key, int):
        return tuple(_with(part, rest, value) if position == key else part for position, part in enumerate(here))
    table = dict(here) if isinstance(here, dict) else {}
    table[key] = _with(table.get(key), rest, value)
    return table
