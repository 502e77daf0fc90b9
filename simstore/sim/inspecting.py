"""Rounds: enclosures are read one after the other, and those that are called spent are to be exchanged."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator

from simstore.sim.exchanging import Exchanging
from simstore.sim.reader import Reader
from simstore.sim.record import Round, Undone
from simstore.sim.replacing import Replacing
from simstore.sim.site import Site
from simstore.sim.staff import ROUNDING, Worker
from simstore.sim.work_source import Job, Work, WorkSource

LEG = 20
"""Enclosures that are read before somebody looks again what is most urgent."""


class Inspecting(WorkSource):
    """Read enclosures on a round."""

    task = "inspect"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self._unread: deque[tuple[int, Round]] = deque()
        self._reader = Reader(site)

    def begin_round(self, metal: str) -> None:
        """Begin a round of one metal, without those that the last one has still to see."""
        site = self.site
        waiting = {i for i, _ in self._unread}
        members = [
            i
            for i, row in enumerate(site.rows)
            if row.enclosure.metal == metal and row.packet is not None and i not in waiting and site.has(i)
        ]
        if not members:
            return
        members.sort(key=lambda i: (site.rows[i].enclosure.place, site.rows[i].enclosure.id))
        tour = Round(started_min=site.now_min, technician="", due_count=len(members), metal=metal)
        site.record.rounds.append(tour)
        self._unread.extend((i, tour) for i in members)

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Read as many of the next enclosures as there is time for."""
        if not self._unread:
            return
        general, left, speed = self.site.settings.tasks.inspect_min, worker.left_min(self), worker.speed()
        total = 0.0
        count = 0
        for i, _ in self._unread:
            own = self.site.rows[i].kind.inspect_min
            total += (general if own is None else own) / speed
            needed = math.ceil(total - ROUNDING)
            if count == LEG or needed > left:
                break
            minutes = needed
            count += 1
        if count:
            yield Job(minutes, self._inspect(worker, count, minutes))

    def _inspect(self, worker: Worker, count: int, minutes: int) -> Work:
        site = self.site
        legs = [self._unread.popleft() for _ in range(count)]
        if minutes:
            yield site.env.timeout(minutes)
        site.look([i for i, _ in legs])
        for (i, tour), called in zip(legs, self._reader.read([i for i, _ in legs]), strict=True):
            over_pct = site.inside.rh_pct(i) - float(site.inside.ceiling_pct[i])
            site.source(Replacing).notice(i)
            tour.technician = tour.technician or worker.name
            tour.inspected += 1
            tour.called += called
            tour.truly_over += over_pct > 0.0
            if tour.inspected == tour.due_count:
                tour.ended_min = site.now_min
            if called:
                site.source(Exchanging).want(i, reason="reading", over_pct=over_pct)

    def undone(self) -> Iterator[Undone]:
        """List enclosures that a round has still to see."""
        for i, tour in self._unread:
            yield Undone(self.task, self.site.rows[i].enclosure.id, tour.started_min)
