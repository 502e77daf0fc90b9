"""When an exchange falls due, as the plan's rule says, and what is read on a round."""

from __future__ import annotations

from collections.abc import Generator, Iterator

import numpy as np
import simpy
from numpy.typing import NDArray

from simstore.exchange_rules import Gel
from simstore.scenario.values.sorbents import Indicator
from simstore.sim.record import Round
from simstore.sim.site import Site
from simstore.store.calendar import Turns
from simstore.store.luck import stream
from simstore.units import MINUTES_PER_DAY

FloatArray = NDArray[np.float64]
DRAWN_AT_ONCE = 32


class Clerk:
    """Does at midnight what the plan's rule says: lists what is due, begins rounds."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._turns = Turns({metal: site.plan.cadence_min(metal) for metal in site.settings.metals})

    def year(self) -> Generator[simpy.Event, object, None]:
        """Come every midnight."""
        rule = self.site.plan.follows()
        while True:
            rule.midnight(self)
            self.site.board.tell()
            yield self.site.env.timeout(MINUTES_PER_DAY)

    @property
    def now_min(self) -> int:
        """Whole minutes since the run's first midnight."""
        return self.site.now_min

    def turns(self) -> Iterator[tuple[str, int]]:
        """Metals whose turn has come."""
        return self._turns.come(self.site.now_min)

    def list_due(self, until_min: int, metal: str | None = None) -> None:
        """Put on the list every exchange that falls due until then, of one metal or of all."""
        site = self.site
        for i in np.flatnonzero(site.due_min <= until_min).tolist():
            if metal is not None and site.rows[i].enclosure.metal != metal:
                continue
            site.want_exchange(i, reason=site.plan.rule, due_min=int(site.due_min[i]))
            site.due_min[i] = np.inf

    def begin_round(self, metal: str) -> None:
        """Begin a round of one metal, without those that the last one has still to see."""
        site = self.site
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


def first_due(site: Site, ages_days: FloatArray, water_kg: FloatArray) -> None:
    """Set the first due date of every enclosure from what the register says."""
    sorbents, every = site.settings.sorbents, range(len(site.rows))
    gel_kg = np.array([sum(parcel.gel_kg for parcel in parcels) for parcels in site.contents])
    weighed = np.array([row.enclosure.gel_water_pct is not None for row in site.rows])
    dry_pct = [0.0 if r.packet is None else sorbents[r.packet.sorbent].supplied_water_pct for r in site.rows]
    cadence_min = {metal: site.plan.cadence_min(metal) for metal in site.settings.metals}

    def spent_min(from_min: FloatArray, water: FloatArray) -> FloatArray:
        return np.array([site.believed_due_min(i, from_min=from_min[i], q=water[i]) for i in every])

    gel = Gel(
        now_min=site.now_min,
        cadence_min=np.array([cadence_min[row.enclosure.metal] for row in site.rows], dtype=np.float64),
        packets=np.array([len(parcels) for parcels in site.contents]),
        age_min=ages_days * MINUTES_PER_DAY,
        weighed=weighed,
        water=np.where(weighed, water_kg / np.where(gel_kg > 0.0, gel_kg, np.inf), np.array(dry_pct) / 100.0),
        spent_min=spent_min,
    )
    packed = np.array([row.packet is not None and site.has(i) for i, row in enumerate(site.rows)])
    site.due_min[:] = np.where(packed, site.plan.follows().due_min(gel), np.inf)


def next_due(site: Site, enclosure: int) -> None:
    """Set the due date after an exchange: the gel is fresh, and its water known."""
    parcels = site.contents[enclosure]
    if not parcels:
        site.due_min[enclosure] = np.inf
        return
    gel = Gel(
        now_min=site.now_min,
        cadence_min=site.plan.cadence_min(site.rows[enclosure].enclosure.metal),
        packets=len(parcels),
        age_min=0.0,
        weighed=True,
        water=sum(parcel.water_kg for parcel in parcels) / sum(parcel.gel_kg for parcel in parcels),
        spent_min=lambda from_min, water: site.believed_due_min(enclosure, from_min=from_min, q=water),
    )
    site.due_min[enclosure] = site.plan.follows().due_min(gel)


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
