"""Runs many variants of a scenario under the same luck, and keeps of each run only what is asked for.

A case is one plan of one variant. All cases share the numbers of their replications, and so their luck; what
is kept of a run is made in the process that simulated it. Finished runs may be kept in a folder under a hash of all
that they follow from, so that an interrupted study goes on where it stopped.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Generic, TypeVar, cast

from simstore.errors import SimstoreError
from simstore.lab.kept_runs import METRICS, Codec, read_run, run_file, write_run
from simstore.lab.replicate import Progress, replicate_with
from simstore.results.balance import check_balance
from simstore.results.metrics import MetricValue, metrics_of
from simstore.scenario.scenario import Scenario
from simstore.sim.record import RunRecord
from simstore.statistics.intervals import replications_for_half_width

Kept = TypeVar("Kept")
Harvest = Callable[[RunRecord], Kept]
"""What to keep of one run; a function of a module."""

MOST_REPLICATIONS: Final = 2000
"""A half-width that needs more is not pursued; the words say so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One plan of one variant of a scenario.

    Attributes
    ----------
    name : str
        Distinct among the cases of a study.
    scenario : Scenario
        The variant, without the plan's own changes.
    plan : str
        Name of a plan in it.
    """

    name: str
    scenario: Scenario
    plan: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """How many replications to run.

    Attributes
    ----------
    replications : int
        Number of replications; with ``half_widths`` the number of the pilot.
    half_widths : mapping of str to float
        Wanted half-width of the interval of each of these metrics, in its unit; more replications are run until the
        pilot's spread says that all are reached.
    """

    replications: int
    half_widths: Mapping[str, float]


def metrics_kept(record: RunRecord) -> tuple[MetricValue, ...]:
    """Keep every metric of a run."""
    return tuple(metrics_of(record))


def run_cases(
    cases: Sequence[Case],
    harvest: Harvest[Kept],
    replications: int,
    *,
    first: int = 0,
    workers: int = 1,
    progress: Progress | None = None,
    keep: Path | None = None,
    codec: Codec[Kept] | None = None,
) -> dict[str, list[Kept]]:
    """Run every case ``replications`` times.

    Parameters
    ----------
    cases : sequence of Case
    harvest : callable
        What is kept of each run.
    replications : int
        Of each case, numbered from ``first``.
    first : int
        Number of the first replication, 0 unless earlier ones were run before.
    workers : int
        Processes.
    progress : callable, optional
        As for :func:`simstore.lab.replicate.replicate`.
    keep : Path, optional
        Folder for finished runs; those that are there already are not run again.
    codec : Codec, optional
        How what is kept is written there; not needed for `metrics_kept`.

    Returns
    -------
    dict of str to list
        What was kept, by case in the order given, then by replication.
    """
    by_name = {case.name: case for case in cases}
    if len(by_name) < len(cases):
        msg = "cases must have distinct names"
        raise ValueError(msg)
    if codec is None and harvest is metrics_kept:
        codec = cast("Codec[Kept]", METRICS)
    if keep is not None:
        if codec is None:
            msg = "to keep runs in a folder needs a codec for what is kept of them"
            raise ValueError(msg)
        keep.mkdir(parents=True, exist_ok=True)
    carrier = cases[0].scenario
    plans = {case.name: case.scenario.settings.plans[case.plan] for case in cases}
    carrier = replace(carrier, settings=carrier.settings.model_copy(update={"plans": plans}), enclosures=())
    work = _CaseWork(cases=by_name, harvest=harvest, first=first, keep=keep, codec=codec)
    found = replicate_with(work, carrier, list(by_name), replications, workers, progress)
    ordered = sorted(by_name)
    rows = {name: found[place * replications : (place + 1) * replications] for place, name in enumerate(ordered)}
    return {name: rows[name] for name in by_name}


def run_to_precision(
    cases: Sequence[Case],
    harvest: Harvest[Kept],
    precision: Precision,
    spread: Callable[[Mapping[str, Sequence[Kept]], str], float],
    *,
    workers: int = 1,
    progress: Progress | None = None,
    keep: Path | None = None,
    codec: Codec[Kept] | None = None,
) -> dict[str, list[Kept]]:
    """Run a pilot, then as many more replications as the stated half-widths need.

    Parameters
    ----------
    spread : callable
        Standard deviation between replications of what has the half-width, given all that was kept and a metric's
        name: of the metric itself, or of its paired difference; in the metric's unit.

    References
    ----------
    .. [1] A. M. Law, "Simulation Modeling and Analysis", McGraw-Hill, section on obtaining a specified precision.
    """
    kept = run_cases(cases, harvest, precision.replications, workers=workers, progress=progress, keep=keep, codec=codec)
    needed = precision.replications
    for metric, half_width in precision.half_widths.items():
        sd = spread(kept, metric)
        needed = max(needed, replications_for_half_width(sd, half_width, least=2) if sd > 0 else 0)
    needed = min(needed, max(MOST_REPLICATIONS, precision.replications))
    if needed > precision.replications:
        more = run_cases(
            cases, harvest, needed - precision.replications, first=precision.replications,
            workers=workers, progress=progress, keep=keep, codec=codec,
        )  # fmt: skip
        kept = {name: [*rows, *more[name]] for name, rows in kept.items()}
    return kept


def spread_of_metric(kept: Mapping[str, Sequence[tuple[MetricValue, ...]]], metric: str) -> float:
    """Return the largest standard deviation between replications that a metric has in any case, in its unit."""
    return max(spread_of(series(rows, metric)) for rows in kept.values())


def spread_of(values: Sequence[float]) -> float:
    """Return the standard deviation of the values that are known; 0 for fewer than two."""
    known = [value for value in values if math.isfinite(value)]
    return statistics.stdev(known) if len(known) > 1 else 0.0


def half_widths_of(texts: Sequence[str], metrics: Sequence[str]) -> dict[str, float]:
    """Read ``METRIC=VALUE`` texts.

    Raises
    ------
    SimstoreError
        With every text that is no metric of the runs or no number above 0.
    """
    from simstore.scenario.checking.finding import suggestion

    wanted, problems = {}, []
    for text in texts:
        name, _, number = text.partition("=")
        try:
            value = float(number)
        except ValueError:
            value = math.nan
        if name not in metrics:
            problems.append(f"half-width '{text}': no metric '{name}'; {suggestion(name, metrics)}")
        elif not (value > 0 and math.isfinite(value)):
            problems.append(f"half-width '{text}': must be METRIC=VALUE with a value above 0")
        else:
            wanted[name] = value
    if problems:
        raise SimstoreError("\n".join(problems))
    return wanted


def precision_of(scenario: Scenario, replications: int, texts: Sequence[str]) -> Precision:
    """Read how many replications are wanted.

    Raises
    ------
    SimstoreError
        If a text of a half-width is not in order.
    """
    from simstore.results.metric_names import METRICS

    settings = scenario.settings
    parts = {"": [""], "metal": list(settings.metals), "packet": list(settings.stock), "task": []}
    known = [
        f"{metric.name}.{part}" if part else metric.name
        for metric in METRICS
        for part in (["", *parts[metric.by]] if metric.name in ("exchanges", "staff_h") else parts[metric.by])
    ]
    return Precision(replications=replications, half_widths=half_widths_of(texts, known))


def series(kept: Sequence[tuple[MetricValue, ...]], metric: str) -> list[float]:
    """Return one metric over the replications; NaN where a run does not have it."""
    return [next((row.value for row in rows if row.metric == metric), math.nan) for rows in kept]


def metric_names(kept: Sequence[tuple[MetricValue, ...]]) -> dict[str, str]:
    """Units of all metrics of these runs, in their order."""
    from simstore.results.metric_names import METRICS

    order = {metric.name: place for place, metric in enumerate(METRICS)}
    units = {row.metric: row.unit for rows in kept for row in rows}
    return {name: units[name] for name in sorted(units, key=lambda name: (order[name.partition(".")[0]], name))}


@dataclass(frozen=True, slots=True, kw_only=True)
class _CaseWork(Generic[Kept]):
    """Does one replication of one case; sent to each worker once."""

    cases: Mapping[str, Case]
    harvest: Harvest[Kept]
    first: int
    keep: Path | None
    codec: Codec[Kept] | None

    def __call__(self, _carrier: Scenario, name: str, number: int) -> Kept:
        case = self.cases[name]
        replication = self.first + number
        if self.keep is None or self.codec is None:
            return self._simulated(case, replication)
        path = run_file(self.keep, self.codec, case.scenario, case.plan, replication)
        known = read_run(path, self.codec)
        if known is not None:
            return known
        kept = self._simulated(case, replication)
        write_run(path, self.codec, kept)
        return kept

    def _simulated(self, case: Case, replication: int) -> Kept:
        from simstore.sim.run import simulate

        record = simulate(case.scenario, case.plan, replication)
        check_balance(record)
        return self.harvest(record)
