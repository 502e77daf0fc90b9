"""Workers for a scenario: processes of this machine, or whatever stands behind an executor from outside.

A worker that dies (out of memory, killed) takes a pool of processes with it; the pool is then made anew and what is
unfinished is done again, so that nothing is lost.
"""

from __future__ import annotations

import heapq
import queue
import time
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future
from typing import Any, Final, Generic, NamedTuple, TypeVar

from simstore.errors import SimstoreError
from simstore.lab.fingerprint import program
from simstore.lab.parcels import Parcel, discard, opened, packed, packed_scenario
from simstore.lab.processes import NO_MAIN_GUARD, Processes, StartMethod, start_method
from simstore.lab.workplace import Missing, Sent, Workplace, at_work

Item = TypeVar("Item")
Result = TypeVar("Result")

MOST_DEATHS: Final = 3
"""So many times the workers may die before a piece of work is given up."""
AHEAD: Final = 16
"""Orders for each worker beyond the first unfinished item: no worker waits for another, and little is held back."""
TURN_S: Final = 0.5
"""An order to another machine should take about this long, since sending one takes some milliseconds."""
START_S: Final = 120.0
"""Processes that have not begun after this long never will."""


class Crew:
    """Workers for one scenario.

    Parameters
    ----------
    workplace : Workplace
        The scenario, as this process has it.
    key : str
        Names the scenario, and no other.
    workers : int
        How many there are.
    executor : Executor, optional
        Does the work; without one, processes of this machine do.
    start : {"fork", "spawn", "forkserver"}, optional
        How processes begin; chosen by what is safe.
    """

    def __init__(
        self, workplace: Workplace, key: str, workers: int, executor: Executor | None, start: StartMethod | None
    ) -> None:
        self.workers, self.outside = workers, executor is not None
        self._workplace, self._key = workplace, key
        self._executor, self._start = executor, start
        self._processes: Processes | None = None
        self._scenario = b""
        self.wave = 0
        """How many times the workers have died."""

    @property
    def there(self) -> bool:
        """Whether workers have begun already."""
        return self.outside or self._processes is not None

    def results(
        self, function: Callable[[Workplace, Item], Result], items: Sequence[Item], begun: Callable[[], None]
    ) -> Generator[tuple[int, Result]]:
        """Do ``function`` for each item; yield place and result as they arrive.

        Parameters
        ----------
        function : callable
            Function of a module; gets the workplace of the process in which it runs.
        items : sequence
            Small: recipes and numbers.
        begun : callable
            Is called when the first orders have been given out.

        Raises
        ------
        SimstoreError
            If workers cannot begin, or keep dying; and what ``function`` raises.
        """
        work = _Round(self, function, items)
        try:
            work.give_out()
            begun()
            while not work.done:
                yield from work.take_in()
                work.give_out()
        finally:
            work.give_up()

    def end(self, *, now: bool = False) -> None:
        """End the processes: when they have done what they are at, or ``now``."""
        if self._processes is not None:
            self._processes.end(now=now)
            self._processes = None

    def submit(self, parcel: Parcel, *, with_scenario: bool) -> Future[Any]:
        """Give one order out."""
        if self._executor is not None:
            if with_scenario and not self._scenario:
                self._scenario = packed_scenario(self._workplace.scenario)
            sent = Sent(self._key, packed=self._scenario if with_scenario else b"")
            return self._executor.submit(at_work, sent, program(), parcel)
        processes = self._begun()
        return processes.executor.submit(at_work, processes.sent, None, parcel)

    def parcel(self, things: object) -> Parcel:
        """Pack an order."""
        return packed(things, "" if self.outside else self._begun().sent.folder)

    def wait(self, arrivals: queue.SimpleQueue[Future[Any]]) -> Future[Any]:
        """Wait for the next finished order; for processes that never begin not for ever."""
        until = time.monotonic() + START_S
        while True:
            starting = self._processes is not None and not self._processes.began()
            try:
                return arrivals.get(timeout=1.0 if starting else None)
            except queue.Empty:
                if time.monotonic() > until:
                    raise self._never_began() from None

    def bury(self) -> None:
        """Take note that workers have died; processes begin anew with the next order.

        Raises
        ------
        SimstoreError
            If no process got as far as its work, so that others would not either.
        """
        self.wave += 1
        if self._processes is not None:
            began = self._processes.began()
            self.end()
            if not began:
                raise self._never_began()

    def _begun(self) -> Processes:
        if self._processes is None:
            self._processes = Processes(self._workplace, self._key, self.workers, self._start or start_method())
        return self._processes

    def _never_began(self) -> SimstoreError:
        return SimstoreError(
            f"the worker processes ended before they began: {NO_MAIN_GUARD}; or take one worker only (--workers 1)"
        )


class _Order(NamedTuple):
    """Items that a worker gets together."""

    places: tuple[int, ...]
    parcel: Parcel
    wave: int


class _Round(Generic[Item, Result]):
    """One list of items on its way through the workers."""

    def __init__(self, crew: Crew, function: Callable[[Workplace, Item], Result], items: Sequence[Item]) -> None:
        self._crew, self._function, self._items = crew, function, items
        self._waiting = list(range(len(items)))
        self._orders: dict[Future[Any], _Order] = {}
        self._arrivals: queue.SimpleQueue[Future[Any]] = queue.SimpleQueue()
        self._finished: set[int] = set()
        self._first = 0
        self._deaths = 0
        self._item_s = float("inf")

    @property
    def done(self) -> bool:
        """Whether every item has its result."""
        return self._first == len(self._items)

    def give_out(self) -> None:
        """Give out as many orders as keep all workers busy."""
        size = self._size()
        while (
            self._waiting
            and len(self._orders) < AHEAD * self._crew.workers
            and self._waiting[0] < self._first + AHEAD * self._crew.workers * size
        ):
            places = tuple(heapq.heappop(self._waiting) for _ in range(min(size, len(self._waiting))))
            self._give(places)

    def take_in(self) -> list[tuple[int, Result]]:
        """Wait for an order; return its results by place."""
        future = self._crew.wait(self._arrivals)
        order = self._orders.pop(future)
        try:
            answer = future.result()
        except (BrokenExecutor, CancelledError) as error:
            self._lost(order.places, order.wave, error)
            return []
        finally:
            discard(order.parcel)
        if isinstance(answer, Missing):
            self._give(order.places, with_scenario=True)
            return []
        spent_s, results = opened(answer)
        discard(answer)
        self._item_s = spent_s / len(results)
        self._finished.update(order.places)
        while self._first in self._finished:
            self._finished.remove(self._first)
            self._first += 1
        return list(zip(order.places, results, strict=True))

    def give_up(self) -> None:
        """Call back what is still out."""
        for future, order in self._orders.items():
            future.cancel()
            discard(order.parcel)

    def _give(self, places: tuple[int, ...], *, with_scenario: bool = False) -> None:
        wave = self._crew.wave
        try:
            parcel = self._crew.parcel((self._function, [self._items[place] for place in places]))
            future = self._crew.submit(parcel, with_scenario=with_scenario)
        except BrokenExecutor as error:
            self._lost(places, wave, error)
            return
        self._orders[future] = _Order(places, parcel, wave)
        future.add_done_callback(self._arrivals.put)

    def _lost(self, places: tuple[int, ...], wave: int, error: BaseException) -> None:
        """Do again what died with its worker."""
        for place in places:
            heapq.heappush(self._waiting, place)
        if wave < self._crew.wave:  # one of those that died together
            return
        self._crew.bury()
        self._deaths += 1
        if self._deaths == MOST_DEATHS:
            said = self._items[self._waiting[0]]
            msg = (
                f"the workers died {MOST_DEATHS} times ({said} is the first that is missing); perhaps memory ran out: "
                "try fewer, --workers 1"
            )
            raise SimstoreError(msg) from error

    def _size(self) -> int:
        """Items for one order: one, but for machines that are far more, and fewer again towards the end."""
        if not self._crew.outside:
            return 1
        fair = len(self._waiting) // (2 * self._crew.workers)
        return max(1, min(int(TURN_S / max(self._item_s, 1e-6)), fair))
