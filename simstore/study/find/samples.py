"""What a search has seen: every simulated year of every candidate, each measured once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final

from simstore.lab.bench import Bench, Task
from simstore.lab.harvest import Harvest, Metrics, frozen_metrics, thawed_metrics
from simstore.plans.candidates import Candidate
from simstore.results.metrics import MetricValue, metrics_of
from simstore.results.objective import SIMULATED_COST
from simstore.scenario.scenario import Scenario
from simstore.sim.record import RunRecord
from simstore.statistics.cheapest_holding import FRESH_FROM

NO_READY: Final = "no_ready_days"
"""Days that ended without a ready packet, by sort; not one of the common metrics, as only a search asks for it."""


def _measured(record: RunRecord) -> Metrics:
    without: dict[str, int] = {}
    for row in record.stock:
        without[row.packet] = without.get(row.packet, 0) + (row.ready == 0)
    extra = [MetricValue(f"{NO_READY}.{packet}", "d", float(days)) for packet, days in sorted(without.items())]
    return (*metrics_of(record), *extra)


MEASURED: Final[Harvest[Metrics]] = Harvest("search", _measured, frozen_metrics, thawed_metrics)


class Samples:
    """Measures candidates on a bench, and remembers.

    Parameters
    ----------
    bench : Bench
    tick : callable, optional
        Is told the number of measured samples, after each.

    Attributes
    ----------
    known : dict of Task to tuple of MetricValue
    """

    def __init__(self, bench: Bench, *, tick: Callable[[int], None] | None = None) -> None:
        self._bench = bench
        self._tick = tick or (lambda _count: None)
        self.known: dict[Task, Metrics] = {}

    @property
    def scenario(self) -> Scenario:
        """As the user gave it."""
        return self._bench.scenario

    def measure(self, candidates: Sequence[Candidate], replications: Iterable[int]) -> None:
        """Have all replications of all candidates in ``known``."""
        self.measure_all([Task(candidate, number) for number in replications for candidate in candidates])

    def measure_all(self, wanted: Iterable[Task]) -> None:
        """Have all these runs in ``known``."""
        missing = [task for task in dict.fromkeys(wanted) if task not in self.known]
        for task, metrics in zip(missing, self._bench.runs(missing, MEASURED), strict=True):
            self.known[task] = metrics
            self._tick(len(self.known))

    @property
    def first_unused(self) -> int:
        """Number of the first replication after those of the search, and before those of the proofs."""
        return max((task.replication for task in self.known if task.replication < FRESH_FROM), default=-1) + 1

    def costs(self, candidate: Candidate, replications: Iterable[int]) -> list[float]:
        """Cost of measured replications that a search makes small; see `simstore.results.objective`."""
        return self.values(candidate, SIMULATED_COST, replications)

    def values(self, candidate: Candidate, metric: str, replications: Iterable[int]) -> list[float]:
        """One metric of measured replications; NaN where it was not measured."""
        return [self.metrics(candidate, number).get(metric, float("nan")) for number in replications]

    def replications_of(self, candidate: Candidate) -> int:
        """Count the measured replications of one candidate, from 0 on without a gap."""
        number = 0
        while Task(candidate, number) in self.known:
            number += 1
        return number

    def known_rows(self, candidate: Candidate, replication: int) -> Metrics:
        """All metrics of one measured replication, with their units."""
        return self.known[Task(candidate, replication)]

    def metrics(self, candidate: Candidate, replication: int) -> dict[str, float]:
        """All metrics of one measured replication, by name."""
        return {row.metric: row.value for row in self.known_rows(candidate, replication)}
