"""Which sheet and column a key of the scenario stands in, and how values are written into a cell."""

from __future__ import annotations

import json
import re
import tomllib
import typing
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, Final

from simstore.scenario.checking.key_paths import Place, members, own_keys, place_of, range_text, unit_text
from simstore.scenario.checking.register_columns import COLUMNS
from simstore.scenario.values.housing import Enclosure, Layer
from simstore.scenario.values.settings import Settings

STORE: Final = "store"
LAYERS: Final = "layers"
REGISTER: Final = "register"
READ_ME: Final = "read me"
NAMED: Final = (
    "metals", "kinds", "packets", "technicians", "ovens", "stock", "plans", "programmes", "films", "sorbents",
    "indicators",
)  # fmt: skip
"""Sections of which each entry is a row under its name."""
LISTED: Final = ("groups", "visits", "arrivals", "incidents", "rehousing")
"""Sections of which each entry is a row without a name."""
FIRST_ROW: Final = 3
"""Keys stand in the first row, units and limits in the second, entries from here on."""
STORE_COLUMNS: Final = ("key", "value", "allowed", "meaning")
RAW: Final = ("[", "{", '"')
"""A cell that begins so is TOML."""
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")


def columns_of(sheet: str) -> list[str]:
    """Keys that are columns of a sheet, the name first where there is one."""
    if sheet == REGISTER:
        return list(COLUMNS)
    if sheet == LAYERS:
        return ["kind", *Layer.model_fields]
    place = place_of(Settings, (sheet, "x" if sheet in NAMED else "0"))
    assert place is not None
    keys = [key for part in members(place.annotation) if isinstance(part, type) for key in own_keys(part)]
    return [*(["name"] if sheet in NAMED else []), *(key for key in keys if (sheet, key) != ("kinds", LAYERS))]


def place_for(sheet: str, key: str) -> Place | None:
    """Find what is expected in a column of a sheet."""
    if sheet == REGISTER:
        return place_of(Enclosure, (key,))
    if sheet == LAYERS:
        return place_of(Layer, (key,))
    if sheet == STORE:
        return place_of(Settings, tuple(key.split(".")))
    return place_of(Settings, (sheet, "x" if sheet in NAMED else "0", key))


def allowed_in(sheet: str, key: str) -> str:
    """Say what is allowed in a column: its range with the unit, or the unit."""
    place = place_for(sheet, key)
    return range_text(place, key) or unit_text(key)


def meaning_of(sheet: str, key: str) -> str:
    """Say what a key means."""
    place = place_for(sheet, key)
    return (place.field.description or "") if place is not None and place.field is not None else ""


def choices_of(sheet: str, key: str) -> list[str]:
    """List the words that may stand in a column, where there are only some."""
    place = place_for(sheet, key)
    found: list[str] = []
    for part in members(place.annotation) if place is not None else ():
        if typing.get_origin(part) is typing.Literal:
            found += [str(word) for word in typing.get_args(part)]
        elif part is bool:
            found += ["TRUE", "FALSE"]
    return found


def to_cell(value: Any) -> Any:
    """Write a value of the scenario into a cell: as it is, lists with semicolons, what is nested as TOML."""
    if isinstance(value, bool | int | float | date):
        return value
    if isinstance(value, str):
        return toml_text(value) if value.startswith(RAW) or value != value.strip() or not value else value
    if isinstance(value, list | tuple) and value:
        if all(isinstance(part, str) and ";" not in part and not part.startswith(RAW) and part for part in value):
            return "; ".join(value)
        if all(isinstance(part, date) for part in value):
            return "; ".join(part.isoformat() for part in value)
        if all(_is_span(part) for part in value):
            return "; ".join(f"{first.isoformat()} to {last.isoformat()}" for first, last in value)
    return toml_text(value)


def _is_span(value: Any) -> bool:
    return isinstance(value, list | tuple) and len(value) == 2 and all(isinstance(part, date) for part in value)


def from_cell(cell: Any, sheet: str, key: str) -> str:
    """Write a cell as TOML, by what its column asks for."""
    place = place_for(sheet, key)
    kinds = list(members(place.annotation)) if place is not None else []
    if isinstance(cell, datetime):
        cell = cell.date()
    if isinstance(cell, str):
        text = cell.strip()
        if text.startswith(RAW) and _is_toml(text):
            return text
        if any(typing.get_origin(kind) is tuple for kind in kinds) and str not in kinds:
            return f"[{', '.join(_part(part.strip()) for part in text.split(';') if part.strip())}]"
        if str not in kinds and not any(typing.get_origin(kind) is typing.Literal for kind in kinds):
            return _part(text)
        return toml_text(text)
    if str in kinds and float not in kinds and int not in kinds and not isinstance(cell, date):
        return toml_text(f"{cell:g}" if isinstance(cell, float) else str(cell))
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        cell = int(cell)
    return toml_text(cell)


def _is_toml(text: str) -> bool:
    """Whether a text is one value of TOML in one line."""
    try:
        return "\n" not in text and len(tomllib.loads(f"x = {text}")) == 1
    except (tomllib.TOMLDecodeError, RecursionError):
        return False


def _part(text: str) -> str:
    """Write one part of a list as TOML: a day, a span of days, a truth, a number, or words."""
    span = re.fullmatch(r"(\d{4}-\d{2}-\d{2})\s+to\s+(\d{4}-\d{2}-\d{2})", text)
    if span:
        return f"[{span.group(1)}, {span.group(2)}]"
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        return text
    if text.casefold() in ("true", "yes", "false", "no"):
        return "true" if text.casefold() in ("true", "yes") else "false"
    if re.fullmatch(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?", text):
        return text
    return toml_text(text)


def toml_text(value: Any) -> str:
    """Write a value as TOML in one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key_text(key)} = {toml_text(part)}" for key, part in value.items()) + " }"
    if isinstance(value, list | tuple):
        return f"[{', '.join(toml_text(part) for part in value)}]"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return repr(value)
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)


def key_text(key: str) -> str:
    """Write a key as TOML."""
    return key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)


def heading_text(keys: Iterable[str]) -> str:
    """Write the path of a table as TOML."""
    return ".".join(key_text(key) for key in keys)
