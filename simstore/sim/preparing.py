"""Preparing packets: dried gel, once cool, is weighed, made up and sealed."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.sim.exchanging import Exchanging
from simstore.sim.packets import Shelf
from simstore.sim.staff import Worker
from simstore.sim.work_source import Job, Work, WorkSource

LEG = 20
"""Packets that are prepared before somebody looks again what is most urgent."""


class Preparing(WorkSource):
    """Make dried packets ready."""

    task = "prepare"
    handling = True

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Prepare as many cool packets of a sort as there is time for."""
        each = self.site.settings.tasks.prepare_min
        for shelf in self.site.stockroom.shelves.values():
            if not (shelf.dried and shelf.dried[0].since_min <= self.site.now_min):
                continue
            cool = sum(parcel.since_min <= self.site.now_min for parcel in shelf.dried)
            left = worker.left_min(self)
            count = min(cool, LEG, int(left * worker.speed() / each))
            if count > 0:
                minutes = worker.pace_min(count * each)
                if minutes <= left:
                    yield Job(minutes, self._prepare(shelf, count, minutes))

    def _prepare(self, shelf: Shelf, count: int, minutes: int) -> Work:
        parcels = [shelf.dried.popleft() for _ in range(count)]
        self.site.stockroom.in_hand += parcels
        shelf.in_oven += count
        yield self.site.env.timeout(minutes)
        shelf.in_oven -= count
        self.site.stockroom.lay_down(parcels)
        for parcel in parcels:
            self.site.stockroom.prepare(parcel, self.site.now_min)

    def wakes_min(self) -> Iterator[int]:
        """Say when packets will have cooled."""
        for shelf in self.site.stockroom.shelves.values():
            if shelf.dried and shelf.dried[0].since_min > self.site.now_min:
                yield shelf.dried[0].since_min


class PreparingForExchanges(Preparing):
    """Make dried packets ready because exchanges wait for them."""

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Prepare only if any exchange waits."""
        return super().jobs(worker) if self.site.source(Exchanging).list else iter(())
