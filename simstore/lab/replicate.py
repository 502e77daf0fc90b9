"""Replications of plans as records, for a script."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NoReturn

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench, Progress, Task
from simstore.lab.frozen_columns import frozen_columns, thawed_columns
from simstore.lab.harvest import Harvest
from simstore.plans.variant import Variant
from simstore.results.columns import RunColumns, table_columns
from simstore.scenario.scenario import Scenario
from simstore.sim.record import RunRecord


def _whole(record: RunRecord) -> RunRecord:
    return record


def _not_kept(_record: object) -> NoReturn:
    msg = "whole records are not kept in a cache"
    raise TypeError(msg)


def _columns(record: RunRecord) -> RunColumns:
    return RunColumns(record.plan, record.replication, table_columns(record))


COLUMNS: Final[Harvest[RunColumns]] = Harvest("columns", _columns, frozen_columns, thawed_columns)
RECORDS: Final[Harvest[RunRecord]] = Harvest("records", _whole, _not_kept, _not_kept)


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
        :class:`simstore.lab.bench.Bench` and keep only what is needed of each.

    Raises
    ------
    SimstoreError
        If a plan is unknown or cannot run, or workers keep dying.
    """
    unknown = [plan for plan in plans if plan not in scenario.settings.plans]
    if unknown:
        known = ", ".join(sorted(scenario.settings.plans))
        msg = f"plan '{unknown[0]}': no such plan in the scenario; it has {known}"
        raise SimstoreError(msg)
    if replications < 1:
        msg = f"replications must be 1 or more, got {replications}"
        raise SimstoreError(msg)
    tasks = [Task(Variant(plan), number) for plan in sorted(set(plans)) for number in range(replications)]
    with Bench(scenario, workers=workers, progress=progress) as bench:
        return list(bench.runs(tasks, RECORDS))
