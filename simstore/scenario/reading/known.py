"""What a register may refer to, and how it is read, taken from a document that may be broken elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic import ValidationError

from simstore.scenario.checking.document import Document
from simstore.scenario.values.list_form import ListForm


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What a register may refer to.

    Attributes
    ----------
    kinds : mapping of str to float or None
        Volume of each kind; None where the kind itself is broken. [m3]
    metals : mapping of str to float or None
        Ceiling of each metal class; None where the class itself is broken. [%RH]
    packets : frozenset of str
    start : date or None
        First day of the run; None where it is broken.
    """

    kinds: Mapping[str, float | None]
    metals: Mapping[str, float | None]
    packets: frozenset[str]
    start: date | None = None


def known_of(document: Document, names: Mapping[str, frozenset[str]]) -> Known:
    """Gather what rows may refer to; ``names`` are those of every section, broken tables too."""
    start = document.get("start")
    return Known(
        kinds=dict(_numbers(document, "kinds", "volume_m3")),
        metals=dict.fromkeys(names["metals"]) | dict(_numbers(document, "metals", "ceiling_rh_pct")),
        packets=names["packets"],
        start=start if type(start) is date else None,
    )


def form_of(document: Document) -> ListForm | None:
    """Form of the list; none where it is broken, which has been told."""
    try:
        return None if "list" not in document else ListForm.model_validate(document["list"])
    except ValidationError:
        return None


def _numbers(document: Document, section: str, key: str) -> Iterator[tuple[str, float | None]]:
    """Yield one figure of every table of a section; None where it is no number above 0."""
    tables = document.get(section)
    for name, table in tables.items() if isinstance(tables, dict) else ():
        value: Any = table.get(key) if isinstance(table, dict) else None
        number = isinstance(value, int | float) and not isinstance(value, bool) and value > 0
        yield str(name), float(value) if number else None
