"""How a list is to be read: the form that is proposed, and what could not be told."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from simstore.scenario.adopting.headings import mapped
from simstore.scenario.adopting.meanings import (
    LITRES,
    date_order,
    decimal_sign,
    kind_words,
    metal_words,
    volume_unit,
)
from simstore.scenario.adopting.vocabulary import form_named
from simstore.scenario.checking.register_columns import NUMBERS, VOLUMES, WHOLE
from simstore.scenario.reading.list_rows import PER_M3, UNIT_WORDS, dated, folded
from simstore.scenario.reading.plain_table import PlainTable, heading_names
from simstore.scenario.values.housing import Kind
from simstore.scenario.values.settings import Settings

REPEATED: Final = 0.1
"""A list in which more ids than this share stand again is one of finds, not of enclosures."""
NEEDED: Final = {
    "id": "a mark for each enclosure, such as a box number",
    "kind": "the kind of enclosure of each",
    "metal": "the metal in each",
}


@dataclass(slots=True, kw_only=True)
class Proposal:
    """What is proposed.

    Attributes
    ----------
    form : dict
        The scenario's ``list``, without keys that say nothing.
    kinds : dict of str to dict
        Kinds of enclosure to be added, made after one of the scenario.
    doubts : list of str
        What was taken for something though it might be something else.
    missing : list of str
        What the list does not tell, and must be told.
    others : list of str
        Headings that are kept for the rota.
    newest : str
        Latest date of a drying, year first; empty for none.
    rows : int
    """

    form: dict[str, Any] = field(default_factory=dict)
    kinds: dict[str, dict[str, Any]] = field(default_factory=dict)
    doubts: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    others: list[str] = field(default_factory=list)
    newest: str = ""
    rows: int = 0


def proposal_for(table: PlainTable, settings: Settings) -> Proposal:
    """Propose how to read a list.

    Parameters
    ----------
    table : PlainTable
        The list.
    settings : Settings
        Gives kinds and metals that its words may stand for.
    """
    names = list(heading_names(table.headings))
    columns = {name: [row[n] for row in table.rows] for n, name in enumerate(names) if name}
    found = mapped(columns)
    cells = {column: columns[heading] for column, heading in found.headings.items()}
    proposal = Proposal(doubts=found.doubts, rows=len(table.rows))
    if table.note:
        proposal.doubts.append(table.note)
    form: dict[str, Any] = {"headings": found.headings}
    numbers = [cell for column in (*NUMBERS, *WHOLE) for cell in cells.get(column, ())]
    form["decimal"] = decimal_sign(numbers)
    form["dates"], doubt = date_order(cells.get("last_regenerated", ()))
    proposal.doubts += [doubt] if doubt else []
    form["units"] = _units(cells, found.units, form["decimal"], settings, proposal)
    form["metals"], doubts = metal_words(cells.get("metal", ()), settings.metals)
    proposal.doubts += doubts
    form["kinds"] = _kinds(cells.get("kind", ()), settings.kinds, proposal)
    form["packets"] = {
        text: "" for text in dict.fromkeys(filter(None, cells.get("packet", ()))) if text not in settings.packets
    }
    form["all_rows"] = _same_for_all(cells, settings, proposal)
    if _repeated(cells.get("id", ())):
        form["rows"] = "finds"
        proposal.doubts.append(
            f"marks under '{found.headings['id']}' stand more than once: each row is taken for a find, and rows with "
            "one mark for objects in one enclosure"
        )
    _tell_what_is_missing(form, cells, proposal)
    usual = {"decimal": ".", "dates": "year first"}
    proposal.form = {key: value for key, value in form.items() if value and usual.get(key) != value}
    proposal.others = [name for name in columns if name not in found.headings.values()]
    days = [dated(cell, form["dates"]) for cell in cells.get("last_regenerated", ())]
    proposal.newest = max(filter(None, days), default="")
    return proposal


def _units(
    cells: Mapping[str, Sequence[str]], said: Mapping[str, str], decimal: str, settings: Settings, proposal: Proposal
) -> dict[str, str]:
    units = {}
    for column in VOLUMES:
        if column in said:
            units[column] = said[column]
        elif column in cells:
            units[column], doubt = volume_unit(cells[column], decimal, settings.kinds)
            proposal.doubts += [doubt] if doubt else []
    return {**units, **{column: unit for column, unit in said.items() if column not in VOLUMES}}


def _kinds(cells: Sequence[str], kinds: Mapping[str, Kind], proposal: Proposal) -> dict[str, str]:
    """Find the kind for each text; a form with a volume that no kind has becomes a kind to be added."""
    words, doubts = kind_words(cells, kinds)
    proposal.doubts += doubts
    for text, name in words.items():
        volume, form = LITRES.search(text.casefold()), form_named(text)
        like = next((each for each, kind in kinds.items() if not form or kind.form == form), None)
        if name or volume is None or like is None:
            continue
        m3 = float(volume.group(1).replace(",", ".")) / PER_M3[UNIT_WORDS[volume.group(2)]]
        fresh = "_".join(folded(text).split())[:40]
        proposal.kinds.setdefault(fresh, _resized(kinds[like], text, m3))
        words[text] = fresh
        proposal.doubts.append(
            f"'{text}' becomes a kind of its own, made like {like} but of {m3 * PER_M3['l']:g} l: put its walls, leak, "
            "packets and price right"
        )
    return words


def _resized(kind: Kind, label: str, m3: float) -> dict[str, Any]:
    """Make a kind of another volume, its walls larger in proportion to the surface."""
    scale = m3 / kind.volume_m3
    made = kind.model_dump(mode="json", exclude_defaults=True)
    made |= {"label": label[:60], "volume_m3": float(f"{m3:.6g}")}
    for layer in made["layers"]:
        layer["area_m2"] = float(f"{layer['area_m2'] * math.pow(scale, 2.0 / 3.0):.3g}")
        if layer.get("gap_m3") is not None:
            layer["gap_m3"] = float(f"{layer['gap_m3'] * scale:.3g}")
    return made


def _same_for_all(cells: Mapping[str, Sequence[str]], settings: Settings, proposal: Proposal) -> dict[str, str]:
    """Take the only kind or metal of the scenario for every row of a list that has none."""
    found = {}
    for column, known in (("kind", settings.kinds), ("metal", settings.metals)):
        if column not in cells and len(known) == 1:
            found[column] = next(iter(known))
            proposal.doubts.append(f"the list has no {column}: every row is taken for {found[column]}")
    return found


def _repeated(marks: Sequence[str]) -> bool:
    filled = [mark for mark in marks if mark]
    again = len(filled) - len(set(filled))
    return again > REPEATED * len(filled)


def _tell_what_is_missing(form: Mapping[str, Any], cells: Mapping[str, Sequence[str]], proposal: Proposal) -> None:
    for column, what in NEEDED.items():
        if column not in cells and column not in form["all_rows"]:
            cure = f"name the heading as {column} in [list.headings]"
            if column != "id":
                cure += f', or write {column} = "..." in [list.all_rows]'
            proposal.missing.append(f"no column gives {what}: {cure}")
    for column, key in (("kind", "kinds"), ("metal", "metals"), ("packet", "packets")):
        counts = Counter(cells.get(column, ()))
        proposal.missing += [
            f"which {column} '{text}' is ({counts[text]} rows): write its name in [list.{key}]"
            for text, name in form[key].items()
            if not name
        ]
    if "last_regenerated" not in cells and "gel_water_pct" not in cells:
        proposal.missing.append("when the gel was dried: without it every packet is taken to be as damp as the room")
