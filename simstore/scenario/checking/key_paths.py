"""What may stand where: a walk over the value classes by key path, for suggestions, bounds and descriptions."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from simstore.scenario.checking.finding import KeyPath, shown
from simstore.units import UNIT_SUFFIXES

UNIT_TEXT = {
    "_c": "degC", "_pct": "%", "_kg": "kg", "_m2": "m2", "_m3": "m3", "_mm": "mm", "_um": "um", "_min": "min",
    "_h": "h", "_days": "days", "_weeks": "weeks", "_years": "years", "_w": "W", "_kg_per_m3": "kg/m3",
    "_per_day": "per day", "_per_year": "per year", "_kj_per_mol": "kJ/mol", "_j_per_mol": "J/mol",
    "_j_per_kg": "J/kg", "_kg_per_kg": "kg/kg", "_kg_per_m_s_pa": "kg/(m s Pa)", "_kg_per_s_pa": "kg/(s Pa)",
    "_kg_per_kg_pa": "kg/(kg Pa)", "_g": "g", "_g_per_h": "g per h", "_kg_per_day": "kg per day", "_per_h": "per h",
    "_g_per_pct": "g/%RH", "_pct_per_year": "% per year", "_h_per_day": "h per day",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Place:
    """Find what is expected at a key path: a type, and the field that it was reached through."""

    annotation: Any
    field: FieldInfo | None = None


def members(annotation: Any) -> Iterator[Any]:
    """Alternatives of a type, through ``Annotated``, unions and ``None``."""
    origin = typing.get_origin(annotation)
    if origin is Annotated:
        yield from members(typing.get_args(annotation)[0])
    elif origin is typing.Union or isinstance(annotation, types.UnionType):
        for part in typing.get_args(annotation):
            yield from members(part)
    else:
        yield annotation


def models(annotation: Any) -> list[type[BaseModel]]:
    """Value classes among the alternatives of a type."""
    return [part for part in members(annotation) if isinstance(part, type) and issubclass(part, BaseModel)]


def own_keys(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Keys of a table as the user writes them."""
    return {info.alias or name: info for name, info in model.model_fields.items()}


def place_of(root: type[BaseModel], path: KeyPath) -> Place | None:
    """Find what is expected at ``path`` below a table of class ``root``; None if no such key exists."""
    place = Place(root)
    for key in path:
        step = _step(place.annotation, key)
        if step is None:
            return None
        place = step
    return place


def _step(annotation: Any, key: str | int) -> Place | None:
    for part in members(annotation):
        if isinstance(part, type) and issubclass(part, BaseModel):
            info = own_keys(part).get(str(key))
            if info is not None:
                return Place(info.annotation, info)
        arguments = typing.get_args(part)
        if typing.get_origin(part) is dict:
            return Place(arguments[1])
        if typing.get_origin(part) is tuple and str(key).isdigit():
            if arguments[-1] is Ellipsis:
                return Place(arguments[0])
            if int(key) < len(arguments):
                return Place(arguments[int(key)])
    return None


def keys_at(annotation: Any) -> set[str]:
    """Keys that a table of this type may have; empty where the names are the user's own."""
    return {key for model in models(annotation) for key in own_keys(model)}


def is_named_table(annotation: Any) -> bool:
    """Whether the keys here are names that the user chooses, as in ``[ovens.x]``."""
    return any(typing.get_origin(part) is dict for part in members(annotation))


def range_text(place: Place | None, key: str) -> str:
    """Write the allowed range with its unit, such as "above 0 to 50 kg"; empty where there is none."""
    if place is None:
        return ""
    bounds: dict[str, float] = {}
    for item in _metadata(place):
        for name in ("gt", "ge", "lt", "le"):
            if getattr(item, name, None) is not None:
                bounds[name] = getattr(item, name)
    written = {name: shown(float(bound)) for name, bound in bounds.items()}
    low = f"above {written['gt']}" if "gt" in bounds else written.get("ge", "")
    high = f"below {written['lt']}" if "lt" in bounds else written.get("le", "")
    unit = unit_text(key)
    if low and high:
        text = f"{low} to {high}" if "gt" in bounds or "lt" in bounds else f"{low}..{high}"
    elif low:
        text = low if "gt" in bounds else f"{low} or more"
    else:
        text = high if "lt" in bounds or not high else f"{high} or less"
    return f"{text} {unit}".strip() if text else ""


def unit_text(key: str) -> str:
    """Name the unit that the end of a key's name stands for; empty for counts and ratios."""
    found = [suffix for suffix in (*UNIT_SUFFIXES, *UNIT_TEXT) if f"_{key}".endswith(suffix)]
    return UNIT_TEXT.get(max(found, key=len), "") if found else ""


def _metadata(place: Place) -> Iterator[Any]:
    if place.field is not None:
        yield from place.field.metadata
    yield from _nested_metadata(place.annotation)


def _nested_metadata(annotation: Any) -> Iterator[Any]:
    origin = typing.get_origin(annotation)
    if origin is Annotated:
        base, *extras = typing.get_args(annotation)
        for extra in extras:
            yield from extra.metadata if isinstance(extra, FieldInfo) else (extra,)
        yield from _nested_metadata(base)
    elif origin is typing.Union or isinstance(annotation, types.UnionType):
        for part in typing.get_args(annotation):
            yield from _nested_metadata(part)
