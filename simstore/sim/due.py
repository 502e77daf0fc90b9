"""When an exchange falls due: by the calendar, by a reading on a round, or by forecast."""

from __future__ import annotations

from collections.abc import Generator, Iterator

import numpy as np
import simpy
from numpy.typing import NDArray

from simstore.scenario.values.sorbents import Indicator
from simstore.sim.record import Round
from simstore.sim.site import Site
from simstore.store.luck import stream
from simstore.units import DAYS_PER_WEEK, MINUTES_PER_DAY

MINUTES_PER_WEEK = DAYS_PER_WEEK * MINUTES_PER_DAY

DRAWN_AT_ONCE = 32


def cadence_min(site: Site, enclosure: int) -> int:
    """Minutes between exchanges, rounds or due lists for the metal in one enclosure."""
    return metal_cadence_min(site, site.rows[enclosure].enclosure.metal)


def metal_cadence_min(site: Site, metal: str) -> int:
    """Minutes of the plan's cadence for one metal; the longest of all where the plan does not name it."""
    weeks = site.plan.cadence_weeks
    if isinstance(weeks, dict):
        weeks = weeks.get(metal, max(weeks.values()))
    return round(weeks * MINUTES_PER_WEEK)


def first_due(site: Site, ages_days: NDArray[np.float64], water_kg: NDArray[np.float64]) -> None:
    """Set the first due date of every enclosure from what the register says."""
    for i, row in enumerate(site.rows):
        if row.packet is None or not site.has(i):
            continue
        known = not np.isnan(ages_days[i])
        weighed = row.enclosure.gel_water_pct is not None
        if site.plan.rule == "calendar":
            site.due_min[i] = max(0.0, cadence_min(site, i) - ages_days[i] * MINUTES_PER_DAY) if known else 0.0
        elif site.plan.rule == "forecast":
            if weighed:
                q = float(water_kg[i] / sum(p.gel_kg for p in site.contents[i]))
                site.due_min[i] = site.believed_due_min(i, from_day=0.0, q=q)
            elif known:
                dry = site.settings.sorbents[row.packet.sorbent].supplied_water_pct / 100.0
                site.due_min[i] = site.believed_due_min(i, from_day=-float(ages_days[i]), q=dry)
            else:
                site.due_min[i] = 0.0


def next_due(site: Site, enclosure: int) -> None:
    """Set the due date after an exchange."""
    if not site.contents[enclosure]:
        site.due_min[enclosure] = np.inf
    elif site.plan.rule == "calendar":
        site.due_min[enclosure] = site.now_min + cadence_min(site, enclosure)
    elif site.plan.rule == "forecast":
        parcels = site.contents[enclosure]
        q = sum(p.water_kg for p in parcels) / sum(p.gel_kg for p in parcels)
        site.due_min[enclosure] = site.believed_due_min(enclosure, from_day=site.now_min / MINUTES_PER_DAY, q=q)


def clerk(site: Site) -> Generator[simpy.Event, object, None]:
    """Every midnight put on the list what has fallen due, and start the rounds whose time has come."""
    metals = list(site.settings.metals)
    next_start = dict.fromkeys(metals, 0)
    while True:
        if site.plan.rule == "calendar":
            _release(site, site.now_min)
        else:
            for metal in metals:
                if next_start[metal] > site.now_min:
                    continue
                cadence = metal_cadence_min(site, metal)
                next_start[metal] += max(cadence, MINUTES_PER_DAY)
                if site.plan.rule == "forecast":
                    _release(site, next_start[metal], metal)
                else:
                    _start_round(site, metal)
        site.board.tell()
        yield site.env.timeout(MINUTES_PER_DAY)


def _release(site: Site, until_min: int, metal: str | None = None) -> None:
    for i in np.flatnonzero(site.due_min <= until_min).tolist():
        if metal is not None and site.rows[i].enclosure.metal != metal:
            continue
        site.want_exchange(i, reason=site.plan.rule, due_min=int(site.due_min[i]))
        site.due_min[i] = np.inf


def _start_round(site: Site, metal: str) -> None:
    """Begin a round of one metal unless the last one is still under way."""
    waiting = {i for i, _ in site.board.inspections}
    members = [
        i
        for i, row in enumerate(site.rows)
        if row.enclosure.metal == metal and row.packet is not None and i not in waiting and site.has(i)
    ]
    if not members:
        return
    members.sort(key=lambda i: (site.rows[i].enclosure.place, site.rows[i].enclosure.id))
    tour = Round(started_min=site.now_min, technician="", due_count=len(members))
    site.record.rounds.append(tour)
    site.board.inspections.extend((i, tour) for i in members)


class Reader:
    """Judges colours: what somebody says who looks at an indicator or a strip."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._luck: dict[int, Iterator[float]] = {}

    def indicator(self, enclosure: int) -> Indicator | None:
        """Return what is read in this enclosure under the plan."""
        row = self.site.rows[enclosure]
        name = self.site.plan.indicator
        if name is None and row.packet is not None:
            name = self.site.settings.sorbents[row.packet.sorbent].indicator
        return None if name is None else self.site.settings.indicators[name]

    def read(self, enclosures: list[int]) -> list[bool]:
        """Say of each of ``enclosures`` whether it is called spent.

        In the band where the colour turns the chance to call it rises from 0 to 1; ``misread_pct`` of all
        readings are called the wrong way.
        """
        inside = self.site.inside
        gel_rh = inside.gel_rh_pct(enclosures)
        calls = []
        for i, over_gel in zip(enclosures, gel_rh.tolist(), strict=True):
            indicator = self.indicator(i)
            if indicator is None:
                calls.append(False)
                continue
            rh_pct = over_gel if indicator.reads == "gel" else float(inside.now_pct[i])
            turned = (rh_pct - indicator.starts_rh_pct) / (indicator.ends_rh_pct - indicator.starts_rh_pct)
            luck = self._luck.get(i)
            if luck is None:
                luck = self._luck[i] = self._draws(self.site.rows[i].enclosure.id)
            seen, slip = next(luck), next(luck)
            calls.append((seen < turned) != (slip < indicator.misread_pct / 100.0))
        return calls

    def _draws(self, name: str) -> Iterator[float]:
        """Even chances of one enclosure, without end."""
        luck = stream(self.site.settings.seed, self.site.replication, "reading", name)
        while True:
            yield from luck.random(DRAWN_AT_ONCE).tolist()
