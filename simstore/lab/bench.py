"""One bench for everything that simulates: tasks in, results out, in this process, in many, or on many machines.

A task follows from the scenario and from what it names, so it may run anywhere, twice, or in any order, and its result
is the same. Each result is kept as soon as it arrives, and they come out in the order of the tasks.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import closing
from functools import partial
from types import TracebackType
from typing import Any, NamedTuple, TypeVar

from simstore.errors import SimstoreError
from simstore.lab.cache import Cache, key_of
from simstore.lab.crew import Crew
from simstore.lab.fingerprint import fingerprint
from simstore.lab.harvest import Harvest
from simstore.lab.processes import StartMethod
from simstore.lab.workplace import Workplace
from simstore.plans.variant import Simulated
from simstore.results.balance import check_balance
from simstore.scenario.scenario import Scenario

Item = TypeVar("Item")
Result = TypeVar("Result")
Kept = TypeVar("Kept")
Progress = Callable[[int, int], None]
"""Is told how many of how many are done: (0, total) when the workers have begun, then after each."""


class Task(NamedTuple):
    """One simulation."""

    variant: Simulated
    replication: int

    def __str__(self) -> str:
        return f"plan '{self.variant.plan}', replication {self.replication}"


class Bench:
    """Simulates a scenario and variants of it.

    Parameters
    ----------
    scenario : Scenario
        As the user gave it, with the seed that is used.
    workers : int
        Processes; 1 does everything in this one. More need a program whose main module may be imported
        (``if __name__ == "__main__":``).
    cache : Cache, optional
        Where finished simulations are kept and looked up.
    executor : Executor, optional
        Does the work instead of own processes; ``workers`` says how many it has.
    progress : callable, optional
        Is told of the progress of each call.
    start : {"fork", "spawn", "forkserver"}, optional
        How processes begin; chosen by what is safe.
    """

    def __init__(
        self,
        scenario: Scenario,
        *,
        workers: int = 1,
        cache: Cache | None = None,
        executor: Executor | None = None,
        progress: Progress | None = None,
        start: StartMethod | None = None,
    ) -> None:
        if workers < 1:
            msg = f"workers must be 1 or more, got {workers}"
            raise SimstoreError(msg)
        self.scenario, self.cache = scenario, cache
        self._report = progress or (lambda _done, _total: None)
        self._here = Workplace(scenario)
        self._crew = Crew(self._here, uuid.uuid4().hex, workers, executor, start)
        self._prints: dict[Simulated, str] = {}

    def __enter__(self) -> Bench:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._crew.end(now=error is not None)

    def run(
        self, variants: Mapping[str, Simulated], harvest: Harvest[Kept], replications: Sequence[int]
    ) -> dict[str, list[Kept]]:
        """Simulate the same replications of several variants, which so share their luck.

        Returns
        -------
        dict of str to list
            What was kept, by variant in the order given, then by replication.
        """
        # all variants of one replication, then the next: what a process draws for it serves them all
        tasks = [Task(variant, number) for number in replications for variant in variants.values()]
        kept = list(self.runs(tasks, harvest))
        return {name: kept[place :: len(variants)] for place, name in enumerate(variants)}

    def runs(self, tasks: Iterable[Task], harvest: Harvest[Kept]) -> Generator[Kept]:
        """Simulate; yield what is kept of each task, in the order of the tasks.

        Raises
        ------
        SimstoreError
            If a plan cannot run, the books of a run do not close, or workers cannot begin or keep dying.
        """
        listed = list(tasks)
        cache = self.cache
        if cache is None:
            yield from self.each(partial(_simulated, harvest), listed)
            return
        keys = [self._key_of(task, harvest) for task in listed]
        known = cache.known(list(dict.fromkeys(keys)))
        missing = {key: place for place, key in reversed(list(enumerate(keys))) if key not in known}
        order = sorted(missing.values())

        def arrived(place: int, kept: Kept) -> None:
            cache.keep(keys[order[place]], harvest.frozen(kept))

        done = sum(key in known for key in keys)
        work = partial(_simulated, harvest)
        with closing(self._each(work, [listed[place] for place in order], arrived, done)) as new:
            for place, key in enumerate(keys):
                yield next(new) if missing.get(key) == place else self._looked_up(cache, key, harvest)

    def each(self, function: Callable[[Workplace, Item], Result], items: Sequence[Item]) -> Generator[Result]:
        """Do a function of a module for each item, wherever there is a worker; yield results in the order of items."""
        return self._each(function, items, lambda _place, _result: None, 0)

    def _each(
        self,
        function: Callable[[Workplace, Item], Result],
        items: Sequence[Item],
        arrived: Callable[[int, Result], None],
        done: int,
    ) -> Generator[Result]:
        total = len(items) + done
        held: dict[int, Result] = {}
        first = 0
        with closing(self._arriving(function, items, lambda: self._report(done, total))) as arriving:
            for count, (place, result) in enumerate(arriving, start=done + 1):
                arrived(place, result)
                self._report(count, total)
                held[place] = result
                while first in held:
                    yield held.pop(first)
                    first += 1

    def _arriving(
        self, function: Callable[[Workplace, Item], Result], items: Sequence[Item], begun: Callable[[], None]
    ) -> Generator[tuple[int, Result]]:
        if self._crew.there or (self._crew.workers > 1 and len(items) > 1):
            yield from self._crew.results(function, items, begun)
            return
        begun()
        for place, item in enumerate(items):
            yield place, function(self._here, item)

    def _looked_up(self, cache: Cache, key: bytes, harvest: Harvest[Kept]) -> Kept:
        found = cache.find(key)
        try:
            if found is None:
                raise KeyError(key)
            return harvest.thawed(found)
        except (ValueError, TypeError, KeyError) as error:
            raise cache.unreadable() from error

    def _key_of(self, task: Task, harvest: Harvest[Any]) -> bytes:
        known = self._prints.get(task.variant)
        if known is None:
            known = self._prints[task.variant] = fingerprint(self._here.variant(task.variant))
        return key_of(known, task.replication, harvest.name)


def _simulated(harvest: Harvest[Kept], place: Workplace, task: Task) -> Kept:
    from simstore.sim.run import simulate  # here, so that a process that only waits does not load the simulation

    record = simulate(place.variant(task.variant), task.variant.plan, task.replication)
    check_balance(record)
    return harvest.of(record)
