"""Packets that keep an enclosure under its ceiling for an interval, in this store's weather, whatever the season."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Final

import numpy as np

from simstore.physics.quantity import conservation_gel_kg, third_of_empty_space_kg
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.housing import Enclosure
from simstore.sim.site import Site
from simstore.store.gel import curve
from simstore.store.housed import Housed, housed
from simstore.study.rota.due_dates import DEVIATE, opened
from simstore.units import DAYS_PER_WEEK, DAYS_PER_YEAR

STARTS: Final = tuple(round(quarter * DAYS_PER_YEAR / 4.0) for quarter in range(4))
"""Days of the year on which the interval begins; the worst counts."""
MOST_PACKETS: Final = 200
"""More than the register takes are not looked for."""
MIDDLE_SHARE: Final = 0.5
"""In the formula the air inside is taken to be at this share of the ceiling on average (an assumption)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What one kind needs for one metal class.

    Attributes
    ----------
    kind, metal, packet : str
    enclosures : int
        How many there are.
    packet_kg, filled_kg : float
        Gel in one packet; and in the enclosure as it is filled now, in the middle.
    middle_packets, leaky_packets : int or None
        Least number of packets with which half of the enclosures, and 95 of 100, last for the interval in the worst
        season; None where no number does.
    lasts_weeks : float
        How long the gel as filled now lasts in one that is leakier than 95 of 100; infinity for more than three years.
    fits_packets : int
        Packets for which there is room beside the objects.
    third_kg, formula_kg : float
        By the rule of a third of the empty space, and by the conservation formula for the middle leak.
    """

    kind: str
    metal: str
    packet: str
    enclosures: int
    packet_kg: float
    filled_kg: float
    middle_packets: int | None
    leaky_packets: int | None
    lasts_weeks: float
    fits_packets: int
    third_kg: float
    formula_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """What every kind and metal class in the register needs for ``weeks``; ``bare`` are kinds without a packet."""

    scenario: Scenario
    plan: str
    weeks: float
    needs: Sequence[Need]
    bare: Sequence[str]


def sizes_of(scenario: Scenario, plan: str, *, weeks: float) -> Sizes:
    """Work out the gel that each kind and metal class needs.

    A middle enclosure of each is followed: the middle volume, its kind's packet, freshly dried gel, the expected
    weather, no openings.

    Parameters
    ----------
    scenario : Scenario
    plan : str
        Its programme says how objects are housed.
    weeks : float
        Interval between two changes.
    """
    settings = scenario.under(plan).settings
    rows = housed(settings, settings.plans[plan], scenario.enclosures)
    groups: dict[tuple[str, str], list[Housed]] = {}
    for row in rows:
        groups.setdefault((row.kind_name, row.enclosure.metal), []).append(row)
    filled = {key: own for key, own in sorted(groups.items()) if any(row.packet for row in own)}
    stand_ins = replace(scenario, enclosures=tuple(_middle(key, own, n) for n, (key, own) in enumerate(filled.items())))
    sites = [opened(stand_ins, plan, first=settings.start, deviate=deviate) for deviate in (0.0, DEVIATE)]
    needs = [_need(sites, n, own, weeks) for n, own in enumerate(filled.values())]
    bare = sorted({kind for kind, _ in groups if all((kind, metal) not in filled for _, metal in groups)})
    return Sizes(scenario=scenario, plan=plan, weeks=weeks, needs=needs, bare=bare)


def _middle(key: tuple[str, str], own: Sequence[Housed], number: int) -> Enclosure:
    """Give an enclosure of the middle volume, whose own leak is not known."""
    volume, empty = median(row.volume_m3 for row in own), median(row.empty_m3 for row in own)
    packets = round(median(row.packets for row in own if row.packet))
    name = next(row.packet_name for row in own if row.packet)
    return Enclosure(
        id=f"size {number}", kind=key[0], metal=key[1], volume_m3=volume, empty_m3=min(empty, volume), packet=name,
        packets=max(packets, 1),
    )  # fmt: skip


def _need(sites: Sequence[Site], n: int, own: Sequence[Housed], weeks: float) -> Need:
    middle, leaky = sites
    row = middle.rows[n]
    assert row.packet is not None
    assert row.packet_name is not None
    settings = middle.settings
    sorbent = settings.sorbents[row.packet.sorbent]
    days = weeks * DAYS_PER_WEEK
    third_kg = float(third_of_empty_space_kg(row.empty_m3, sorbent.bulk_kg_per_m3))
    return Need(
        kind=row.kind_name,
        metal=row.enclosure.metal,
        packet=row.packet_name,
        enclosures=len(own),
        packet_kg=row.packet.gel_kg,
        filled_kg=median(each.packet.gel_kg * each.packets if each.packet else 0.0 for each in own),
        middle_packets=_least(lambda count: _lasts_days(middle, n, count) >= days),
        leaky_packets=_least(lambda count: _lasts_days(leaky, n, count) >= days),
        lasts_weeks=_lasts_days(leaky, n, row.packets) / DAYS_PER_WEEK,
        fits_packets=int(row.empty_m3 * sorbent.bulk_kg_per_m3 / row.packet.gel_kg),
        third_kg=third_kg,
        formula_kg=_formula_kg(middle, n, days),
    )


def _least(enough: Callable[[int], bool]) -> int | None:
    """Find the least number of packets that is enough; more of them always last longer."""
    if not enough(MOST_PACKETS):
        return None
    low, high = 1, MOST_PACKETS
    while low < high:
        half = (low + high) // 2
        low, high = (low, half) if enough(half) else (half + 1, high)
    return low


def _lasts_days(site: Site, n: int, packets: int) -> float:
    """Days from fresh gel to the ceiling, in the worst of four seasons."""
    row = replace(site.rows[n], packets=packets)
    assert row.packet is not None
    gel_kg = packets * row.packet.gel_kg
    dry = site.settings.sorbents[row.packet.sorbent].supplied_water_pct / 100.0
    ceiling = min(site.settings.metals[row.enclosure.metal].ceiling_rh_pct, 99.0) / 100.0
    wall = site.walls.believed_rows[n]
    return min(
        site.outlook.due_day(row, wall, gel_kg=gel_kg, water_kg=dry * gel_kg, from_day=float(start), rh=ceiling) - start
        for start in STARTS
    )


def _formula_kg(site: Site, n: int, days: float) -> float:
    """Gel by the conservation formula: the leak alone, the mean climate, gel that takes up evenly to the ceiling."""
    row = site.rows[n]
    assert row.packet is not None
    sorbent = site.settings.sorbents[row.packet.sorbent]
    ceiling_pct = site.settings.metals[row.enclosure.metal].ceiling_rh_pct
    temp_c = float(site.inside.room.temp_c.mean())
    room_pct = 100.0 * float(site.inside.room.activity.mean())
    full = float(curve(sorbent.isotherm).uptake_kg_per_kg(np.float64(ceiling_pct / 100.0), temp_c))
    takes_g = (full - sorbent.supplied_water_pct / 100.0) * 1000.0
    if takes_g <= 0.0:
        return math.nan
    return float(
        conservation_gel_kg(
            temp_c=temp_c,
            rh_difference_pct=max(room_pct - MIDDLE_SHARE * ceiling_pct, 0.0),
            volume_m3=row.empty_m3,
            leak_per_day=float(site.walls.leak_per_day[n]),
            duration_days=days,
            capacity_g_per_kg_pct=takes_g / ceiling_pct,
            rh_range_pct=ceiling_pct,
        )
    )
