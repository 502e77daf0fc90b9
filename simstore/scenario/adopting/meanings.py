"""What dates, numbers, units and words in a list mean, told from all that stand there."""

from __future__ import annotations

import math
import re
import statistics
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from simstore.scenario.adopting.vocabulary import form_named, metal_word, metals_named, organics_named
from simstore.scenario.reading.list_rows import PER_M3, UNIT_WORDS, figure, folded
from simstore.scenario.values.housing import Kind, Metal
from simstore.scenario.values.list_form import DateOrder

LITRES: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*(l|litre|litres|liter|liters|litros?|ml|lt|ltr)\b")
NEAR: Final = 0.15
"""A kind of so nearly the volume that is written may be meant."""
MOST_WORDS: Final = 12
"""More texts than these are put down by the word that they have in common."""
_SHORT: Final = re.compile(r"(\d{1,2})[./\- ](\d{1,2})[./\- ](\d{2,4})\b")


def date_order(cells: Sequence[str]) -> tuple[DateOrder, str]:
    """Tell how dates are written, and say so where it cannot be told."""
    parts = [found for cell in cells if (found := _SHORT.match(cell))]
    if not parts:
        return "year first", ""
    day_first = sum(int(part.group(1)) > 12 for part in parts)
    month_first = sum(int(part.group(2)) > 12 for part in parts)
    if day_first and month_first:
        order: DateOrder = "day first" if day_first >= month_first else "month first"
        return order, f"dates are written in two orders; most are {order}, and the others are refused"
    if day_first or month_first:
        return ("day first" if day_first else "month first"), ""
    return "day first", f"it cannot be told whether {parts[0].group(0)} is {order_said(parts[0])}"


def order_said(found: re.Match[str]) -> str:
    """Say both readings of a date."""
    one, two, year = found.groups()
    return f"day {one} of month {two} or day {two} of month {one} of {year}: taken for the day first"


def decimal_sign(cells: Sequence[str]) -> str:
    """Tell the sign before decimals: a comma where one stands before other than three digits, and no point does."""
    commas = sum(bool(re.search(r"\d,\d", cell)) for cell in cells)
    groups = sum(bool(re.search(r"\d,\d{3}(?!\d)", cell)) for cell in cells)
    points = sum(bool(re.search(r"\d\.\d", cell)) for cell in cells)
    grouping_points = sum(bool(re.search(r"\d\.\d{3},\d", cell)) for cell in cells)
    return "," if commas and (groups < commas or not points or grouping_points) and points <= grouping_points else "."


def volume_unit(cells: Sequence[str], decimal: str, kinds: Mapping[str, Kind]) -> tuple[str, str]:
    """Tell the unit of volumes by the unit in the cells, or by their size beside that of the kinds."""
    figures = [figure(cell, decimal) for cell in cells if cell]
    numbers = [float(plain) for plain, unit in figures if plain is not None and not unit]
    if not numbers:
        return "m3", ""
    usual = statistics.median(kind.volume_m3 for kind in kinds.values())
    middle = statistics.median(numbers)
    unit = min(PER_M3, key=lambda one: abs(_log_ratio(middle / PER_M3[one], usual)) + 0.001 * (one == "cm3"))
    return unit, f"no unit is given for volumes; from their size ({middle:g} in the middle) they are taken for {unit}"


def _log_ratio(one: float, other: float) -> float:
    return math.log(one / other) if one > 0 else math.inf


def metal_words(cells: Sequence[str], metals: Mapping[str, Metal]) -> tuple[dict[str, str], list[str]]:
    """Find the metal class that each text stands for, the lowest ceiling of several; and what is in doubt."""
    classes = {name: {name.casefold(), *metals_named(f"{name} {metal.label}")} for name, metal in metals.items()}
    found: dict[str, str] = {}
    doubts = []
    for text, rows in Counter(cell for cell in cells if cell).items():
        if text in metals:
            continue
        named = metals_named(text)
        fits = [name for name, words in classes.items() if words & {*named, folded(text)}]
        found[text] = min(fits, key=lambda name: metals[name].ceiling_rh_pct) if fits else ""
        if len(named) > 1 and fits:
            doubts.append(f"'{text}' names several metals and is taken for {found[text]}, the one that must be drier")
        if organics_named(text):
            doubts.append(f"'{text}' ({rows}x) may crack in dry air: somebody who knows such finds must decide first")
    return (_by_word(found) if len(found) > MOST_WORDS else found), doubts


def _by_word(found: Mapping[str, str]) -> dict[str, str]:
    """Put many texts down by the word that names their metal, those that name several or none before them."""
    alone = {text: name for text, name in found.items() if len(metals_named(text)) != 1}
    words = {f"*{metal_word(text).casefold()}*": name for text, name in found.items() if text not in alone}
    return {**alone, **words}


def kind_words(cells: Sequence[str], kinds: Mapping[str, Kind]) -> tuple[dict[str, str], list[str]]:
    """Find the kind of enclosure that each text stands for; "" where none fits or several do."""
    found: dict[str, str] = {}
    doubts = []
    for text in dict.fromkeys(cell for cell in cells if cell):
        if text in kinds:
            continue
        fits = _kinds_like(text, kinds)
        found[text] = fits[0] if len(fits) == 1 else ""
        if len(fits) == 1:
            doubts.append(f"'{text}' is taken for {fits[0]} ({kinds[fits[0]].label})")
    return found, doubts


def _kinds_like(text: str, kinds: Mapping[str, Kind]) -> list[str]:
    """List the kinds of the form and volume that a text names."""
    exact = [name for name, kind in kinds.items() if folded(text) in (folded(name), folded(kind.label))]
    if exact:
        return exact
    form = form_named(text)
    volume = LITRES.search(text.casefold())
    fits = [name for name, kind in kinds.items() if not form or kind.form == form]
    if volume is not None:
        litres = float(volume.group(1).replace(",", ".")) / PER_M3[UNIT_WORDS[volume.group(2)]]
        return [name for name in fits if abs(kinds[name].volume_m3 / litres - 1.0) <= NEAR]
    return fits if form else []
