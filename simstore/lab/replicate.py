"""Runs the replications of plans, in several processes where asked, with the same result for any number of them.

A replication follows from (scenario, plan, number) alone, so it may run anywhere, twice, or in any order. A worker that
dies (out of memory, killed) takes the pool with it; the pool is then made anew and what is unfinished runs again.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeVar

from simstore.errors import SimstoreError
from simstore.results.columns import RunColumns, run_columns
from simstore.scenario.scenario import Scenario
from simstore.sim.record import RunRecord

Found = TypeVar("Found")
Work = Callable[[Scenario, str, int], Found]
"""Something to do for one (scenario, plan, replication); a function of a module, so that it can be sent to a worker."""
Progress = Callable[[int, int], None]
"""Is told how many of how many replications are done."""

MOST_BROKEN_POOLS: Final = 3
"""So many times the workers may die before the run is given up."""
ONE_THREAD_ONLY: Final = Path("/proc/self/task")
"""Has one entry for each thread of this process; Linux only."""


class Task(NamedTuple):
    """One replication of one plan."""

    plan: str
    replication: int


def replicate(
    scenario: Scenario,
    plans: Sequence[str],
    replications: int,
    workers: int = 1,
    progress: Progress | None = None,
) -> list[RunRecord]:
    """Simulate each plan ``replications`` times under the same luck.

    Parameters
    ----------
    scenario : Scenario
        Its seed, with the number of the replication, makes the luck.
    plans : sequence of str
        Names of plans in the scenario.
    replications : int
        Replications of each plan, numbered from 0.
    workers : int
        Processes; 1 runs everything in this one. More need a program whose main module may be imported
        (``if __name__ == "__main__":``).
    progress : callable, optional
        Is told (done, total): (0, total) when the workers have begun, then after each replication.

    Returns
    -------
    list of RunRecord
        Ordered by plan and replication. A record of 600 enclosures takes some 1.5 MB: for many plans, use
        :func:`replicate_with` and keep only what is needed of each.

    Raises
    ------
    SimstoreError
        If a plan is unknown or cannot run, or workers keep dying.
    """
    return replicate_with(_simulated, scenario, plans, replications, workers, progress)


def replicate_columns(
    scenario: Scenario,
    plans: Sequence[str],
    replications: int,
    workers: int = 1,
    progress: Progress | None = None,
) -> list[RunColumns]:
    """As :func:`replicate`, but with the tables' columns made where the simulation ran."""
    return replicate_with(_columns, scenario, plans, replications, workers, progress)


def replicate_with(
    work: Work[Found],
    scenario: Scenario,
    plans: Sequence[str],
    replications: int,
    workers: int = 1,
    progress: Progress | None = None,
) -> list[Found]:
    """Do ``work`` for every replication of every plan; results are ordered by plan and replication."""
    unknown = [plan for plan in plans if plan not in scenario.settings.plans]
    if unknown:
        known = ", ".join(sorted(scenario.settings.plans))
        msg = f"plan '{unknown[0]}': no such plan in the scenario; it has {known}"
        raise SimstoreError(msg)
    if replications < 1 or workers < 1:
        msg = f"replications and workers must be 1 or more, got {replications} and {workers}"
        raise SimstoreError(msg)
    tasks = [Task(plan, number) for plan in sorted(set(plans)) for number in range(replications)]
    report = progress or (lambda _done, _total: None)
    if min(workers, len(tasks)) > 1:
        found = _in_processes(work, scenario, tasks, workers, report)
    else:
        report(0, len(tasks))
        found = {}
        for task in tasks:
            found[task] = work(scenario, *task)
            report(len(found), len(tasks))
    return [found[task] for task in tasks]


def start_method() -> str:
    """Choose how worker processes begin: as copies of this one where that is safe, else from nothing.

    A copy saves each worker the time to load numpy and the scenario (measured: a third of the time of a small run),
    but a process with more than one thread must not be copied: a lock that another thread holds stays locked for ever.
    """
    try:
        threads = len(list(ONE_THREAD_ONLY.iterdir()))
    except OSError:
        return "spawn"
    return "fork" if threads == 1 else "spawn"


def _in_processes(
    work: Work[Found], scenario: Scenario, tasks: Sequence[Task], workers: int, report: Progress
) -> dict[Task, Found]:
    found: dict[Task, Found] = {}
    for _ in range(MOST_BROKEN_POOLS):
        left = [task for task in tasks if task not in found]
        if _one_pool(work, scenario, left, min(workers, len(left)), found, lambda: report(len(found), len(tasks))):
            return found
    left = [task for task in tasks if task not in found]
    msg = (
        f"the worker processes died {MOST_BROKEN_POOLS} times (plan '{left[0].plan}', replication "
        f"{left[0].replication} is the first that is missing); perhaps memory ran out: try --workers 1"
    )
    raise SimstoreError(msg)


def _one_pool(
    work: Work[Found],
    scenario: Scenario,
    tasks: Sequence[Task],
    workers: int,
    found: dict[Task, Found],
    tick: Callable[[], None],
) -> bool:
    """Do ``tasks`` in one pool and put them into ``found``; False if the pool broke before the end."""
    context = multiprocessing.get_context(start_method())
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_begin_worker, initargs=(work, scenario))
    whole = True
    try:
        waiting: dict[Future[Any], Task] = {}
        try:
            for task in tasks:
                waiting[pool.submit(_do, task)] = task
        except BrokenProcessPool:
            whole = False
        tick()
        for future in as_completed(waiting):
            try:
                found[waiting[future]] = future.result()
            except BrokenProcessPool:
                whole = False
            else:
                tick()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    return whole


_mine: list[Any] = []
"""In a worker: the work and the scenario, sent once."""


def _begin_worker(work: Work[Any], scenario: Scenario) -> None:
    """Leave Ctrl-C to the parent, and end when the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _mine[:] = [work, scenario]


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _do(task: Task) -> Any:
    work, scenario = _mine
    return work(scenario, *task)


def _simulated(scenario: Scenario, plan: str, replication: int) -> RunRecord:
    from simstore.sim.run import simulate  # here, so that a process that only waits does not load the simulation

    return simulate(scenario, plan, replication)


def _columns(scenario: Scenario, plan: str, replication: int) -> RunColumns:
    return run_columns(_simulated(scenario, plan, replication))
