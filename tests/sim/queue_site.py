"""A store whose exchanges and ovens are the customers and machines of a textbook queue.

Site, ExchangeList, Worker and OvenUnit are the simulator's own. What is replaced is only how long things take and what a
customer is: exchanges of no enclosure, in minutes so many to the unit of time that rounding does not matter.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from sim import stores

from simstore.scenario.values.work import Technician
from simstore.sim.exchange_list import ExchangeDue
from simstore.sim.exchanging import Exchanging
from simstore.sim.line_up import line_up
from simstore.sim.oven_loads import Unloading
from simstore.sim.ovens import OvenUnit
from simstore.sim.run import open_site
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.work_source import WorkSource
from simstore.store.calendar import Session

UNIT = 1_000_000
"""Minutes to the unit of time of the textbook."""
FOR_EVER = 10**15
ALWAYS = Technician(sessions=("Mon 00:00-24:00",))
STOCK = "[stock.small]\nready = 1\n[tasks]\ngear_min = 0.0\n"


class SameRow:
    """Stands for the register: every customer is an enclosure like the first."""

    def __init__(self, row) -> None:
        self.row = row

    def __getitem__(self, index: int):
        return self.row


class Tireless(Worker):
    """A worker whom no limit of a day keeps from handling gel."""

    def left_min(self, source: WorkSource) -> int:
        return self.ends_min - self.site.now_min


class GivenExchanges(Exchanging):
    """Exchanges that take as long as the customer brings, and touch no enclosure."""

    services: np.ndarray
    waited: np.ndarray

    def _minutes(self, worker: Worker, due: ExchangeDue) -> int:
        return worker.pace_min(int(self.services[due.enclosure]))

    def _exchange(self, worker: Worker, sort: str, minutes: int):
        due = self.list.take(sort)
        self.waited[due.enclosure] = self.site.now_min - due.due_min
        yield self.site.env.timeout(minutes)
        self.list.done(due.enclosure)


def open_empty(text: str = STOCK) -> Site:
    """Open a store in which nothing happens by itself."""
    box = stores.BOX
    site = open_site(stores.store(stores.PEOPLE + stores.CLIMATE + text, (box,)), "idle", 0)
    line_up(site)
    site.sources[Exchanging] = GivenExchanges(site)
    site.rows = SameRow(site.rows[0])
    return site


def hire(site: Site, count: int) -> None:
    """Let this many technicians begin, who are always there."""
    for n in range(count):
        worker = Tireless(site, f"w{n}", ALWAYS, [Session(0, FOR_EVER)], list(site.sources.values()))
        site.env.process(worker.year())


def waits_of_exchanges(gaps: np.ndarray, services: np.ndarray, servers: int) -> np.ndarray:
    """Wait of each exchange [min] with this many technicians who are always there."""
    site = open_empty()
    exchanges = site.source(Exchanging)
    exchanges.services, exchanges.waited = services, np.full(len(gaps), -1, dtype=np.int64)
    hire(site, servers)

    def arrive():
        for number, gap in enumerate(gaps.tolist()):
            yield site.env.timeout(gap)
            exchanges.list.want("small", ExchangeDue(15.0, 0.0, site.now_min, number, "test"))
            site.tell()

    arrivals = site.env.process(arrive())
    site.env.run(until=arrivals)
    site.env.run(until=site.env.now + int(services.sum()))
    return exchanges.waited


class Machine(OvenUnit):
    """An oven that runs for given times, and starts again as soon as somebody has seen to it."""

    runs: Iterator[int]
    this_run: int

    @property
    def running_min(self) -> int:
        return self.this_run

    def _dry(self, load) -> None:
        """Nothing lies in it."""

    def start(self) -> None:
        self.this_run = next(self.runs)
        self.fill("", [])
        self.site.env.process(self.bake())

    def empty(self):
        parcels = super().empty()
        self.start()
        return parcels


class GivenTasks:
    """Task times of which that of unloading is given anew for each stop."""

    load_min = receive_min = prepare_min = inspect_min = exchange_min = 1.0
    gear_min = 0.0

    def __init__(self, mends: list[int]) -> None:
        self.mends = mends
        self.begun = 0

    @property
    def unload_min(self) -> float:
        return float(self.mends[self.begun])


class Mending(Unloading):
    """Writes down how long an oven waited for being unloaded."""

    stops: list[tuple[int, int, int]]

    def _unload(self, oven: OvenUnit, minutes: int):
        self.site.settings.tasks.begun += 1
        began = self.site.now_min
        stopped = oven.load.hot_min
        yield from super()._unload(oven, minutes)
        self.stops.append((stopped, began, self.site.now_min))


class Patched:
    """The scenario's settings with other task times."""

    def __init__(self, settings, tasks) -> None:
        self.settings = settings
        self.tasks = tasks

    def __getattr__(self, name: str):
        return getattr(self.settings, name)


OVEN = """
[ovens.machine]
trays = 1
tray_area_m2 = 1.0
cooling = "sealed"
"""


def stops_of_machines(runs: np.ndarray, mends: np.ndarray, men: int, count: int) -> np.ndarray:
    """When each machine stopped, was begun with and ran again; [min], shape (count, 3), in the order of beginning.

    ``runs`` has a row for each machine; ``mends`` are taken in the order in which mending begins.
    """
    site = open_empty(STOCK + OVEN)
    spec = site.settings.ovens["machine"]
    site.settings = Patched(site.settings, GivenTasks(mends.tolist()))
    mending = site.sources[Unloading] = Mending(site)
    mending.units, mending.stops = [], []
    for n, own in enumerate(runs.tolist()):
        oven = Machine(site, "machine", f"m{n}", spec)
        oven.runs = iter(own)
        oven.start()
        mending.units.append(oven)
    hire(site, men)
    while len(mending.stops) < count:
        site.env.step()
    return np.array(sorted(mending.stops, key=lambda stop: stop[1]))[: count - men]
