"""How much gel, in words: what each kind needs, and why rules of thumb say something else here."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from simstore.prose.blocks import Block, Cell, Column, Paragraph, Points, Table, num
from simstore.prose.cautions import caution_blocks, work_cautions
from simstore.prose.phrases import NONE, figures, listed
from simstore.study.size.need import MOST_PACKETS, Need, Sizes

FAR: Final = 2.0
CLOSE: Final = 1.25
"""A rule is worth a word where it gives more than the first factor too much, or the second too little."""


def size_blocks(found: Sizes) -> Iterator[Block]:
    """Say how much gel is needed."""
    yield Paragraph(text=_answer(found))
    yield _table(found)
    points = [*_too_many(found), *_reasons(found)]
    if found.bare:
        points.append(f"Without a packet in the register or the kind, and so not sized: {listed(found.bare)}.")
    yield Points(points=[("", text) for text in points])
    yield Paragraph(
        text="Freshly dried gel, the worst of four seasons to begin in, the expected weather, the middle volume of "
        "each kind, no openings. 'Leaky' is an enclosure that leaks more than 95 of 100 of its kind: fill for it where "
        "leaks are not measured; 'weeks' is how long it lasts as filled now. 'Third' is the rule that gel fills a "
        "third of the empty space (common practice, no source); 'formula' the conservation formula for the middle leak."
    )
    yield from caution_blocks(
        work_cautions(found.scenario.under(found.plan).settings, heats=False, handles=bool(found.needs))
    )


def _answer(found: Sizes) -> str:
    short = [one for one in found.needs if one.lasts_weeks < found.weeks]
    weeks = f"{found.weeks:g} weeks"
    if not found.needs:
        return "No enclosure of the register holds a packet, so there is nothing to size."
    if not short:
        return f"As they are filled now, even leaky enclosures of every kind stay under their ceiling for {weeks}."
    worst = min(short, key=lambda one: one.lasts_weeks)
    return (
        f"For {weeks} between two changes, {len(short)} of {len(found.needs)} kinds and metals hold too little gel for "
        f"their leaky enclosures. Shortest: {_name(worst)}, {figures(worst.lasts_weeks, 2)} weeks with "
        f"{figures(worst.filled_kg, 2)} kg."
    )


def _table(found: Sizes) -> Table:
    return Table(
        caption="Gel for the interval",
        columns=[
            Column("Kind and metal", numeric=False, short=f"kg for {found.weeks:g} weeks", most=26),
            Column("Now", "kg", short="now"),
            Column("Lasts", "weeks", short="weeks"),
            Column("Middle", "kg", short="middle"),
            Column("Leaky", "kg", short="leaky"),
            Column("Packets", short="packets"),
            Column("Third", "kg", short="third"),
            Column("Formula", "kg", short="formula"),
        ],
        rows=[
            [
                Cell(f"{one.kind}, {one.metal}"),
                num(one.filled_kg),
                Cell("> 156") if math.isinf(one.lasts_weeks) else num(one.lasts_weeks, 0),
                _kg(one, one.middle_packets),
                _kg(one, one.leaky_packets),
                Cell(NONE if one.leaky_packets is None else str(one.leaky_packets)),
                num(one.third_kg),
                num(one.formula_kg),
            ]
            for one in found.needs
        ],
    )


def _kg(one: Need, packets: int | None) -> Cell:
    return num(math.nan if packets is None else packets * one.packet_kg)


def _too_many(found: Sizes) -> Iterator[str]:
    for one in found.needs:
        if one.leaky_packets is None:
            yield (
                f"{_name(one)}: not even {MOST_PACKETS} packets last for the interval in a leaky one. "
                "Mend the leak, or change more often."
            )
        elif one.leaky_packets > one.fits_packets:
            yield (
                f"{_name(one)}: {one.leaky_packets} packets are needed in a leaky one and there is room for "
                f"{one.fits_packets}. Take a better enclosure, larger packets, or change more often."
            )


def _reasons(found: Sizes) -> Iterator[str]:
    """Say where the rules lie far off, and why."""
    sized = [(one, one.leaky_packets * one.packet_kg) for one in found.needs if one.leaky_packets is not None]
    more = {_name(one): one.third_kg / need_kg for one, need_kg in sized if one.third_kg > FAR * need_kg}
    less = {_name(one): need_kg / one.third_kg for one, need_kg in sized if one.third_kg * CLOSE < need_kg}
    if more:
        yield (
            f"The rule of a third asks for {_times(more)} what a leaky one needs, for {listed(list(more))}: it knows "
            "neither leak, nor climate, nor interval."
        )
    if less:
        yield (
            f"A leaky one needs {_times(less)} what the rule of a third gives, for {listed(list(less))}: it knows "
            "neither leak, nor climate, nor how low the ceiling is."
        )
    under = [
        _name(one)
        for one in found.needs
        if one.middle_packets is not None and one.middle_packets > 1 and one.formula_kg * FAR < _middle_kg(one)
    ]
    if under:
        yield (
            f"The formula gives less than half of what the middle needs, for {listed(under)}: it counts the innermost "
            "leak alone, not films and outer layers, and takes a mean climate."
        )


def _middle_kg(one: Need) -> float:
    return (one.middle_packets or 0) * one.packet_kg


def _name(one: Need) -> str:
    return f"{one.kind} with {one.metal}"


def _times(factors: Mapping[str, float]) -> str:
    low, high = figures(min(factors.values()), 2), figures(max(factors.values()), 2)
    return f"{low} times" if low == high else f"{low} to {high} times"
