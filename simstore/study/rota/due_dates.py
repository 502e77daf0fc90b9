"""When each enclosure comes to its limit, if its gel stays as it is: a date, and how early or late it may be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from simstore.scenario.scenario import Scenario
from simstore.sim.opening import open_site
from simstore.sim.site import Site
from simstore.study.rota.expected import expected, measured
from simstore.units import DAYS_PER_YEAR

DEVIATE: Final = 1.6448536269514722
"""Standard normal deviate that 5 % exceed: a leakier one comes earlier than the first of the two dates in 5 %."""
LOOKS_AHEAD_DAYS: Final = 3 * int(DAYS_PER_YEAR)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """When the air in one enclosure comes to the ceiling of its metal.

    Attributes
    ----------
    enclosure, place, kind, metal : str
    packet : str
        Sort of packet in it; empty for none.
    packets : int
    ceiling_rh_pct : float
    earliest, likely, latest : date or None
        With a leak that 5, 50 and 95 % are below, the leakiest first; None for later than three years.
    leak_known : bool
        Whether its own leak is known, and only the error of that measurement is left.
    """

    enclosure: str
    place: str
    kind: str
    metal: str
    packet: str
    packets: int
    ceiling_rh_pct: float
    earliest: date | None
    likely: date | None
    latest: date | None
    leak_known: bool


def limits_of(scenario: Scenario, plan: str, *, first: date) -> list[Limit]:
    """Work out when each enclosure of the register comes to its ceiling, in the register's order.

    The gel fills up in the expected weather from what it holds on ``first``; nothing is exchanged. An enclosure without
    a packet, or that is over already, comes to it on the first day.
    """
    sites = [opened(scenario, plan, first=first, deviate=deviate) for deviate in (DEVIATE, 0.0, -DEVIATE)]
    days = [_days(site, len(scenario.enclosures)) for site in sites]
    whole = scenario.under(plan)
    found = []
    for i, row in enumerate(sites[1].rows[: len(scenario.enclosures)]):
        dates = [None if math.isinf(each[i]) else first + timedelta(days=int(each[i])) for each in days]
        own = row.enclosure
        found.append(
            Limit(
                enclosure=own.id, place=own.place, kind=row.kind_name, metal=own.metal, packet=row.packet_name or "",
                packets=row.packets if row.packet else 0,
                ceiling_rh_pct=whole.settings.metals[own.metal].ceiling_rh_pct, earliest=dates[0], likely=dates[1],
                latest=dates[2], leak_known=measured(whole.settings, scenario.enclosures[i], row.kind_name),
            )
        )  # fmt: skip
    return found


def opened(scenario: Scenario, plan: str, *, first: date, deviate: float) -> Site:
    """Open a store as it is expected to be, all leaks shifted alike, with an outlook over three years."""
    return open_site(expected(scenario, plan, first=first, days=LOOKS_AHEAD_DAYS, deviate=deviate), plan, 0)


def _days(site: Site, count: int) -> list[float]:
    """Days until each of the first so many enclosures is at its ceiling."""
    days = []
    for i, row in enumerate(site.rows[:count]):
        parcels = site.contents[i]
        if row.packet is None or not parcels:
            days.append(0.0)
            continue
        day = site.outlook.due_day(
            row,
            site.walls.believed_rows[i],
            gel_kg=sum(parcel.gel_kg * parcel.left for parcel in parcels),
            water_kg=sum(parcel.water_kg for parcel in parcels),
            from_day=0.0,
            rh=min(site.settings.metals[row.enclosure.metal].ceiling_rh_pct, 99.0) / 100.0,
        )
        days.append(day)
    return days
