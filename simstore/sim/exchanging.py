"""Exchanges of packets: when each falls due, the list of those that are wanted, and the exchange itself."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from simstore.exchange_rules import Gel
from simstore.sim.exchange_list import ExchangeDue, ExchangeList
from simstore.sim.handwork import change_packets, take_out
from simstore.sim.record import Undone
from simstore.sim.replacing import Replacing
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.work_source import Job, Work, WorkSource
from simstore.units import MINUTES_PER_DAY

FloatArray = NDArray[np.float64]


class Exchanging(WorkSource):
    """Change the packets of an enclosure.

    Attributes
    ----------
    due_min : ndarray, shape (enclosures,)
        Next exchange by the plan's rule, in minutes of the clock; infinity for none.
    list : ExchangeList
        Exchanges that are wanted.
    """

    task = "exchange"
    handling = True

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.due_min = self._first_due_min()
        self.list = ExchangeList()

    def _first_due_min(self) -> FloatArray:
        """First due date of every enclosure, from what the register says."""
        site = self.site
        sorbents, every = site.settings.sorbents, range(len(site.rows))
        gel_kg = np.array([sum(parcel.gel_kg for parcel in parcels) for parcels in site.contents])
        weighed = np.array([row.enclosure.gel_water_pct is not None for row in site.rows])
        dry_pct = [0.0 if r.packet is None else sorbents[r.packet.sorbent].supplied_water_pct for r in site.rows]
        cadence_min = {metal: site.plan.cadence_min(metal) for metal in site.settings.metals}

        def spent_min(from_min: FloatArray, water: FloatArray) -> FloatArray:
            return np.array([site.believed_due_min(i, from_min=from_min[i], q=water[i]) for i in every])

        water = np.array([site.inside.gel_water_kg(i) for i in every]) / np.where(gel_kg > 0.0, gel_kg, np.inf)
        gel = Gel(
            now_min=site.now_min,
            cadence_min=np.array([cadence_min[row.enclosure.metal] for row in site.rows], dtype=np.float64),
            packets=np.array([len(parcels) for parcels in site.contents]),
            age_min=site.ages_days * MINUTES_PER_DAY,
            weighed=weighed,
            water=np.where(weighed, water, np.array(dry_pct) / 100.0),
            spent_min=spent_min,
        )
        packed = np.array([row.packet is not None and site.has(i) for i, row in enumerate(site.rows)])
        return np.where(packed, site.plan.follows().due_min(gel), np.inf)

    def _next_due(self, enclosure: int) -> None:
        """Set the due date after an exchange: the gel is fresh, and its water known."""
        site, parcels = self.site, self.site.contents[enclosure]
        if not parcels:
            self.due_min[enclosure] = np.inf
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
        self.due_min[enclosure] = site.plan.follows().due_min(gel)

    def list_due(self, until_min: int, metal: str | None = None) -> None:
        """Put on the list every exchange that falls due until then, of one metal or of all."""
        for i in np.flatnonzero(self.due_min <= until_min).tolist():
            if metal is None or self.site.rows[i].enclosure.metal == metal:
                self.want(i, reason=self.site.plan.rule, due_min=int(self.due_min[i]))
                self.due_min[i] = np.inf

    def want(
        self,
        enclosure: int,
        *,
        reason: str,
        over_pct: float = 0.0,
        due_min: int | None = None,
        minutes: float | None = None,
    ) -> None:
        """Put the exchange of one enclosure on the list, if it has a packet at all."""
        row = self.site.rows[enclosure]
        if row.packet_name is None:
            return
        ceiling_pct = self.site.settings.metals[row.enclosure.metal].ceiling_rh_pct
        when_min = self.site.now_min if due_min is None else due_min
        due = ExchangeDue(ceiling_pct, -round(max(over_pct, 0.0), 6), when_min, enclosure, reason, minutes)
        self.list.want(row.packet_name, due)

    def done(self, enclosure: int) -> None:
        """Forget an exchange that has been made, and set when the next one is due."""
        self.list.done(enclosure)
        self._next_due(enclosure)

    def startable(self) -> list[tuple[str, ExchangeDue]]:
        """Most urgent exchanges for which there are enough packets ready, with the sort of packet."""
        shelves, rows = self.site.stockroom.shelves, self.site.rows
        return [
            (sort, due) for sort, due in self.list.heads() if len(shelves[sort].ready) >= rows[due.enclosure].packets
        ]

    def _minutes(self, worker: Worker, due: ExchangeDue) -> int:
        """Whole minutes that an exchange takes this person."""
        own = self.site.rows[due.enclosure].kind.exchange_min
        usual = self.site.settings.tasks.exchange_min if own is None else own
        return worker.pace_min(usual if due.minutes is None else due.minutes)

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Exchange where there are packets, most urgent first; or, if the plan says so, take the wet ones out."""
        left = worker.left_min(self)
        found = self.list.most_urgent(self.startable())
        if found is not None:
            minutes = self._minutes(worker, found[1])
            if minutes <= left:
                yield Job(minutes, self._exchange(worker, found[0], minutes))
        elif self.site.plan.without_packet == "go_without":
            filled = (head for head in self.list.heads() if self.site.contents[head[1].enclosure])
            found = self.list.most_urgent(filled)
            if found is not None:
                minutes = self._minutes(worker, found[1])
                if minutes <= left:
                    yield Job(minutes, self._go_without(found[0], minutes))

    def _exchange(self, worker: Worker, sort: str, minutes: int) -> Work:
        due = self.list.take(sort)
        fresh = self.site.stockroom.take_ready(sort, self.site.rows[due.enclosure].packets, self.site.now_min)
        yield self.site.env.timeout(minutes)
        self.site.stockroom.lay_down(fresh)
        change_packets(self.site, due.enclosure, fresh, worker.name, reason=due.reason, due_min=due.due_min)
        self.done(due.enclosure)
        self.site.source(Replacing).notice(due.enclosure)

    def _go_without(self, sort: str, minutes: int) -> Work:
        due = self.list.take(sort)
        yield self.site.env.timeout(minutes)
        take_out(self.site, due.enclosure)
        self.list.put_back(sort, due)

    def undone(self) -> Iterator[Undone]:
        """List everything that is still wanted, most urgent first."""
        for due in self.list:
            yield Undone(self.task, self.site.rows[due.enclosure].enclosure.id, due.due_min)
