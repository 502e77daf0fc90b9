"""Which column of a list is which column of the register, told by its heading and by what stands below."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from simstore.scenario.adopting.vocabulary import HEADINGS, form_named, metals_named
from simstore.scenario.checking.register_columns import COLUMNS, NUMBERS, VOLUMES, WHOLE
from simstore.scenario.reading.list_rows import UNIT_WORDS, dated, figure, folded

SURE: Final = 0.9
"""A heading that scores so much is one of the words for its column."""
BY_UNIT: Final = 0.7
"""A heading that gives litres scores so much for the volume, whatever it calls it."""
OFTEN: Final = 0.6
"""So large a share of cells that name metals, or boxes and bags, tell what a column is whose heading does not."""
MOSTLY: Final = 0.8
"""So large a share of the cells of a column must be what the column asks for."""
GEL_WORDS: Final = (
    "gel", "silica", "kiesel", "trocken", "getauscht", "gewechselt", "dried", "changed", "regener", "seche", "change",
    "cambi", "seco",
)  # fmt: skip
"""Parts of words in the headings of days that concern the gel."""
_PER_HOUR: Final = re.compile(r"\bach\b|per hour|/ ?h\b|an hour|pro stunde|par heure|por hora")
_NUMBER: Final = re.compile(r"\b(n o|n|nr|nro|num|number|numero|nummer)\b")
_UNITS: Final = "|".join(sorted(UNIT_WORDS, key=len, reverse=True)).replace("3", "[3³]")
_UNIT: Final = re.compile(rf"(?:[(\[]|\bin\s+|[,/]\s*)({_UNITS})\s*[)\]]?\s*$")


@dataclass(slots=True)
class Mapped:
    """Headings by column, units that the headings give, and what was in doubt, in sentences."""

    headings: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    doubts: list[str] = field(default_factory=list)


def mapped(columns: Mapping[str, Sequence[str]]) -> Mapped:
    """Find the columns of the register among those of a list.

    Parameters
    ----------
    columns : mapping of str to sequence of str
        Cells below each heading.
    """
    found = Mapped()
    scores = [
        (score, -n, column, heading)
        for n, heading in enumerate(columns)
        for column in COLUMNS
        if (score := _score(heading, column)) and _fits(column, columns[heading])
    ]
    rivals: dict[str, list[str]] = {}
    for _, _, column, heading in sorted(scores, reverse=True):
        if column in found.headings or heading in found.headings.values():
            if column in found.headings and heading not in found.headings.values():
                rivals.setdefault(column, []).append(heading)
            continue
        found.headings[column] = heading
    for column, others in rivals.items():
        left = [each for each in others if each not in found.headings.values()]
        if left:
            found.doubts.append(
                f"'{found.headings[column]}' is taken for the {column}; it might be '{left[0]}' as well"
            )
    _by_content(columns, found, "metal", lambda cell: bool(metals_named(cell)), "names a metal")
    _by_content(columns, found, "kind", lambda cell: bool(form_named(cell)), "names a box or a bag")
    _gel_date(columns, found)
    for heading, cells in columns.items():
        column = max(COLUMNS, key=lambda one: _score(heading, one))
        told = heading in found.headings.values() or column in found.headings
        if _score(heading, column) >= SURE and not told and any(cells):
            found.doubts.append(
                f"'{heading}' reads like the {column}, but its cells do not ('{next(filter(None, cells))}')"
            )
    for column in VOLUMES:
        unit = unit_in(found.headings.get(column, ""))
        if unit:
            found.units[column] = unit
    leak = found.headings.get("leak_per_day", "")
    if _PER_HOUR.search(leak.casefold()):
        found.units["leak_per_day"] = "per hour"
        found.doubts.append(f"'{leak}' is taken for air changes an hour; a day has 24 times as many")
    return found


def _score(heading: str, column: str) -> float:
    """How well a heading fits: 1 for one of the words, less for one that holds them."""
    words = _plain(_UNIT.sub(" ", heading.casefold()))
    best = 1.0 if words == folded(column) else 0.0
    if column == "volume_m3" and unit_in(heading):
        best = max(best, BY_UNIT)
    for rank, each in enumerate(HEADINGS.get(column, ())):
        known = _plain(each)
        closeness = 1.0 - 0.002 * rank
        if words == known:
            best = max(best, closeness)
        elif f" {known} " in f" {words} ":
            best = max(best, closeness * 0.6 * len(known) / max(len(words), 1) + 0.2)
    return best


def _plain(heading: str) -> str:
    """Fold a heading; every way to write "number" is one."""
    return _NUMBER.sub("no", folded(heading))


def _fits(column: str, cells: Sequence[str]) -> bool:
    """Whether what stands in a column is what is asked for."""
    filled = [cell for cell in cells if cell]
    if not filled:
        return column not in ("id", "kind", "metal")
    if column == "last_regenerated":
        return _share(filled, _is_day) >= MOSTLY
    if column in NUMBERS or column in WHOLE:
        return (
            _share(filled, lambda cell: figure(cell, ".")[0] is not None or figure(cell, ",")[0] is not None) >= MOSTLY
        )
    if column == "packet" and _share(filled, lambda cell: bool(dated(cell, "day first"))) > 1.0 - MOSTLY:
        return False
    if column in ("kind", "metal", "packet"):
        return _share(filled, lambda cell: bool(re.search(r"[^\W\d_]", cell))) >= MOSTLY
    return True


def _is_day(cell: str) -> bool:
    return bool(dated(cell, "day first") or dated(cell, "month first"))


def _share(cells: Sequence[str], test: Callable[[str], bool]) -> float:
    return sum(test(cell) for cell in cells) / len(cells)


def _by_content(
    columns: Mapping[str, Sequence[str]], found: Mapped, column: str, test: Callable[[str], bool], what: str
) -> None:
    """Take the column whose cells mostly say what is asked for, such as the metals in one headed "Object"."""
    if column in found.headings:
        return
    shares = {
        heading: _share(filled, test)
        for heading, cells in columns.items()
        if heading not in found.headings.values() and (filled := [cell for cell in cells if cell])
    }
    best = max(shares, key=lambda heading: shares[heading], default="")
    if best and shares[best] >= OFTEN:
        found.headings[column] = best
        found.doubts.append(f"no column is headed as the {column}; '{best}' {what} in most rows and is taken for it")


def _gel_date(columns: Mapping[str, Sequence[str]], found: Mapped) -> None:
    """Take a column with days whose heading speaks of gel, of drying or of changing for the day of drying."""
    if "last_regenerated" in found.headings:
        return
    for heading, cells in columns.items():
        filled = [cell for cell in cells if cell]
        if heading in found.headings.values() or not filled or not any(word in folded(heading) for word in GEL_WORDS):
            continue
        if _share(filled, _is_day) >= 1.0 - OFTEN:
            found.headings["last_regenerated"] = heading
            found.doubts.append(f"'{heading}' is taken for the day on which the gel was dried")
            return


def unit_in(heading: str) -> str:
    """Return the unit of volume that a heading ends with; empty for none."""
    found = _UNIT.search(heading.casefold())
    word = "" if found is None else found.group(1).replace("³", "3")
    return UNIT_WORDS.get(word, "")
