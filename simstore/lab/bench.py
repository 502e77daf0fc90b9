"""Simulates candidate plans replication by replication: in processes, each once, and remembered."""

from __future__ import annotations

import multiprocessing
import signal
import threading
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from types import TracebackType
from typing import NamedTuple

from simstore.errors import SimstoreError
from simstore.lab.checkpoint import Checkpoint, Measured
from simstore.lab.replicate import MOST_BROKEN_POOLS, _end_with_parent, start_method
from simstore.plans.candidates import Candidate
from simstore.results.balance import check_balance
from simstore.results.metrics import MetricValue, metrics_of
from simstore.results.objective import SIMULATED_COST
from simstore.scenario.scenario import Scenario
from simstore.screen.screening import Screened, Screening

NO_READY = "no_ready_days"
"""Days that ended without a ready packet, by sort; not one of the common metrics, as only a search asks for it."""
MOST_REMEMBERED = 64


class Sample(NamedTuple):
    """One simulation to be done."""

    candidate: Candidate
    replication: int


class Bench:
    """Measures samples; each is simulated once, whoever asks and however often.

    Parameters
    ----------
    scenario : Scenario
        As the user gave it, with the seed that is used.
    workers : int
        Processes; 1 simulates in this one.
    checkpoint : Checkpoint, optional
        Where finished simulations are kept and looked up.
    tick : callable, optional
        Is told the number of measured samples, after each.
    """

    def __init__(
        self,
        scenario: Scenario,
        *,
        workers: int = 1,
        checkpoint: Checkpoint | None = None,
        tick: Callable[[int], None] | None = None,
    ) -> None:
        if workers < 1:
            msg = f"workers must be 1 or more, got {workers}"
            raise SimstoreError(msg)
        self.scenario, self.workers, self.checkpoint = scenario, workers, checkpoint
        self.known: dict[Sample, Measured] = {}
        self._tick = tick or (lambda _count: None)
        self._pool: ProcessPoolExecutor | None = None
        self.screening = Screening(scenario)

    def __enter__(self) -> Bench:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end_pool()

    def measure(self, candidates: Sequence[Candidate], replications: Iterable[int]) -> None:
        """Have all replications of all candidates in ``known``."""
        wanted = [Sample(c, r) for c in candidates for r in replications]
        missing = [
            sample for sample in dict.fromkeys(wanted) if sample not in self.known and not self._looked_up(sample)
        ]
        if self.workers == 1 or (len(missing) == 1 and self._pool is None):
            for sample in missing:
                self._keep(sample, measured(self.scenario, sample))
        else:
            self._in_processes(missing)

    def screen(self, candidates: Sequence[Candidate]) -> dict[Candidate, Screened]:
        """Screen candidates with the fluid model, in processes; the division does not depend on their number."""
        groups = self.screening.groups(candidates)
        if self.workers == 1 or len(groups) == 1:
            parts = [self.screening.screen(group) for group in groups]
        else:
            parts = list(self._begun_pool().map(_screen, groups))
        found = {what.candidate: what for part in parts for what in part}
        return {candidate: found[candidate] for candidate in candidates}

    def costs(self, candidate: Candidate, replications: Iterable[int]) -> list[float]:
        """Cost of measured replications that a search makes small; see `simstore.results.objective`."""
        return self.values(candidate, SIMULATED_COST, replications)

    def values(self, candidate: Candidate, metric: str, replications: Iterable[int]) -> list[float]:
        """One metric of measured replications; NaN where it was not measured."""
        return [self.metrics(candidate, number).get(metric, float("nan")) for number in replications]

    def replications_of(self, candidate: Candidate) -> int:
        """Count the measured replications of one candidate, from 0 on without a gap."""
        number = 0
        while Sample(candidate, number) in self.known:
            number += 1
        return number

    def known_rows(self, candidate: Candidate, replication: int) -> Measured:
        """All metrics of one measured replication, with their units."""
        return self.known[Sample(candidate, replication)]

    def metrics(self, candidate: Candidate, replication: int) -> dict[str, float]:
        """All metrics of one measured replication, by name."""
        return {row.metric: row.value for row in self.known[Sample(candidate, replication)]}

    def _looked_up(self, sample: Sample) -> bool:
        found = None if self.checkpoint is None else self.checkpoint.find(*sample)
        if found is not None:
            self.known[sample] = found
            self._tick(len(self.known))
        return found is not None

    def _keep(self, sample: Sample, found: Measured) -> None:
        self.known[sample] = found
        if self.checkpoint is not None:
            self.checkpoint.keep(*sample, found)
        self._tick(len(self.known))

    def _in_processes(self, missing: list[Sample]) -> None:
        broken = 0
        while missing and broken < MOST_BROKEN_POOLS:
            try:
                self._one_pool(missing)
            except BrokenProcessPool:
                broken += 1
                self._end_pool()
            missing = [sample for sample in missing if sample not in self.known]
        if missing:
            msg = f"the worker processes died {MOST_BROKEN_POOLS} times; perhaps memory ran out: try --workers 1"
            raise SimstoreError(msg)

    def _one_pool(self, missing: list[Sample]) -> None:
        pool = self._begun_pool()
        waiting: dict[Future[Measured], Sample] = {pool.submit(_do, sample): sample for sample in missing}
        for future in as_completed(waiting):
            self._keep(waiting[future], future.result())

    def _begun_pool(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(
                self.workers,
                mp_context=multiprocessing.get_context(start_method()),
                initializer=_begin,
                initargs=(self.scenario,),
            )
        return self._pool

    def _end_pool(self) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None


_mine: list[Scenario] = []
_screening: list[Screening] = []
_derived: dict[Candidate, Scenario] = {}


def _begin(scenario: Scenario) -> None:
    """Leave Ctrl-C to the parent, and end when the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _screening.clear()
    _of(scenario)


def _of(scenario: Scenario) -> dict[Candidate, Scenario]:
    """Return the derived scenarios of ``scenario``; those of another one are forgotten."""
    if not _mine or _mine[0] is not scenario:
        _derived.clear()
        _mine[:] = [scenario]
    return _derived


def _do(sample: Sample) -> Measured:
    return measured(_mine[0], sample)


def _screen(group: list[Candidate]) -> list[Screened]:
    if not _screening:
        _screening.append(Screening(_mine[0]))
    return _screening[0].screen(group)


def measured(scenario: Scenario, sample: Sample) -> Measured:
    """Simulate one sample and measure it.

    Raises
    ------
    SimstoreError
        If the plan cannot run, or the books do not close.
    """
    from simstore.sim.run import simulate

    known = _of(scenario)
    derived = known.get(sample.candidate)
    if derived is None:
        if len(known) >= MOST_REMEMBERED:
            known.clear()
        derived = known[sample.candidate] = sample.candidate.scenario_of(scenario)
    record = simulate(derived, sample.candidate.base, sample.replication)
    check_balance(record)
    without: dict[str, int] = {}
    for row in record.stock:
        without[row.packet] = without.get(row.packet, 0) + (row.ready == 0)
    extra = [MetricValue(f"{NO_READY}.{packet}", "d", float(days)) for packet, days in sorted(without.items())]
    return [*metrics_of(record), *extra]
