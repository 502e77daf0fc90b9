"""Work at the ovens: unloading what has dried, and loading what lies spent."""

from __future__ import annotations

import math
from collections.abc import Iterator

from simstore.sim.exchanging import Exchanging
from simstore.sim.ovens import OvenUnit
from simstore.sim.packets import Parcel
from simstore.sim.record import Undone
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.work_source import Job, Work, WorkSource
from simstore.store.windows import holding


class Unloading(WorkSource):
    """Take dried packets out of an oven.

    Attributes
    ----------
    units : list of OvenUnit
        Every oven of the store.
    """

    task = "unload"
    handling = True

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.units = [
            OvenUnit(site, name, name if spec.count == 1 else f"{name} {n + 1}", spec)
            for name, spec in site.settings.ovens.items()
            for n in range(spec.count)
        ]

    def processes(self) -> Iterator[Work]:
        """Let ovens break down and be repaired."""
        return (oven.breakdowns() for oven in self.units)

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Unload any oven that waits for it."""
        minutes = worker.pace_min(self.site.settings.tasks.unload_min)
        if minutes <= worker.left_min(self):
            for oven in self.units:
                if oven.state == "waiting":
                    yield Job(minutes, self._unload(oven, minutes))

    def _unload(self, oven: OvenUnit, minutes: int) -> Work:
        oven.state = "in use"
        yield self.site.env.timeout(minutes)
        oven.empty()

    def undone(self) -> Iterator[Undone]:
        """List ovens that wait to be unloaded."""
        for oven in self.units:
            if oven.state == "waiting" and oven.load:
                yield Undone(self.task, oven.name, oven.load.hot_min or 0)

    def holds(self) -> Iterator[Parcel]:
        """Packets in ovens."""
        return (parcel for oven in self.units for parcel in oven.parcels)


class Loading(WorkSource):
    """Empty spent packets on to the trays of a free oven and start it."""

    task = "load"
    handling = True

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Load a free oven if enough lies spent; ovens of one sort get one answer."""
        minutes = worker.pace_min(self.site.settings.tasks.load_min)
        if minutes > worker.left_min(self):
            return
        worth: dict[int, bool] = {}
        for oven in self.site.source(Unloading).units:
            if not oven.free:
                continue
            if id(oven.spec) not in worth:
                worth[id(oven.spec)] = self._attended(worker, oven, minutes) and self._worth_it(oven)
            if worth[id(oven.spec)]:
                yield Job(minutes, self._load(worker, oven, minutes))

    def _worth_it(self, oven: OvenUnit) -> bool:
        """Whether enough lies spent for this sort of oven; anything will do where exchanges wait for packets."""
        parcels, share = oven.choose()
        if share * 100.0 >= oven.spec.least_load_pct:
            return bool(parcels)
        exchanging = self.site.source(Exchanging)
        return bool(parcels) and bool(exchanging.list) and not exchanging.startable()

    def _attended(self, worker: Worker, oven: OvenUnit, minutes: int) -> bool:
        """Whether somebody will be there while it is hot, if it must not run alone."""
        if not oven.spec.attended:
            return True
        gear = 0 if worker.geared else math.ceil(self.site.settings.tasks.gear_min)
        now = self.site.now_min
        there = worker.attendance or ((now, worker.ends_min),)
        return now + gear + minutes + oven.running_min <= (holding(there, now) or 0)

    def _load(self, worker: Worker, oven: OvenUnit, minutes: int) -> Work:
        parcels, _ = oven.choose()
        oven.fill(worker.name, parcels)
        yield self.site.env.timeout(minutes)
        self.site.env.process(oven.bake())
