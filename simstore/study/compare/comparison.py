"""Plans under the same luck: what differs in their inputs, in everything that is measured, and in money over years.

The first plan is what the others are held against. Each difference is paired, replication by replication; the
intervals of all metrics of all plans hold together (Bonferroni, which needs no independence).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.harvest import METRICS, Metrics
from simstore.lab.precision import Precision, run_to_precision, spread_of
from simstore.money.changeover import HORIZON_YEARS, Changeover, break_even_year, changeover, cumulative_cost
from simstore.plans.differing import Differing, differing_inputs
from simstore.plans.variant import Variant
from simstore.results.series import metric_names, series
from simstore.results.summary import SHARES, Summary, summarise
from simstore.scenario.checking.finding import suggestion
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import AS_REGISTERED
from simstore.statistics.intervals import difference_interval, variance_ratio
from simstore.statistics.shares import share_limits

CONFIDENCE: Final = 0.95
NOTHING_DONE: Final = "staff_h."
"""A task that nobody did in a run has no row: its hours are 0."""


class Difference(NamedTuple):
    """One metric of one plan minus that of the reference, with its interval; NaN where the runs cannot tell.

    Attributes
    ----------
    variance_ratio : float
        How many times the common luck has cut the variance of the difference.
    caution : str
        Why the interval may cover too rarely; empty if there is no reason.
    rare_runs : int or None
        In how many runs the difference is not the usual one, where these are few; it has no limits then, unless 0.
    """

    plan: str
    metric: str
    unit: str
    mean: float
    low: float
    high: float
    variance_ratio: float
    caution: str
    rare_runs: int | None = None

    @property
    def decided(self) -> bool:
        """Whether the interval leaves out zero."""
        return self.low > 0.0 or self.high < 0.0


class BreakEven(NamedTuple):
    """When the dearer beginning of two plans has paid for itself.

    Attributes
    ----------
    dearer : str
        Plan that costs more at the start; empty if both cost the same.
    other : str
    more : float
        How much more it costs at the start. [currency]
    year, soonest, latest : int or None
        At the mean difference of running costs and at the ends of its interval; None if not within the horizon.
    """

    dearer: str
    other: str
    more: float
    year: int | None
    soonest: int | None
    latest: int | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """Outcome of a comparison; ``plans[0]`` is the reference.

    Attributes
    ----------
    scenario : Scenario
        With a plan for each one compared.
    runs : mapping of str to list of tuple of MetricValue
        By plan, then by replication.
    family : int
        Intervals that hold together.
    """

    scenario: Scenario
    plans: tuple[str, ...]
    replications: int
    inputs: list[Differing]
    runs: Mapping[str, list[Metrics]]
    summary: Summary
    differences: list[Difference]
    family: int
    changeovers: Mapping[str, Changeover]
    break_even: list[BreakEven]

    def difference(self, plan: str, metric: str) -> Difference:
        """Return one of the differences."""
        return next(row for row in self.differences if row.plan == plan and row.metric == metric)


def compare(bench: Bench, plans: Sequence[str], precision: Precision) -> Comparison:
    """Simulate plans under the same luck and set them side by side.

    Parameters
    ----------
    bench : Bench
    plans : sequence of str
        Two or more plans of its scenario; the first is the reference.
    precision : Precision
        A half-width is that of a paired difference, alone (not together with the others).

    Raises
    ------
    SimstoreError
        If fewer than two plans are named, or they cannot run.
    """
    names = list(dict.fromkeys(plans))
    if len(names) < 2:
        msg = "a comparison needs two different plans or more: name them with --plan, or one with two --programme"
        raise SimstoreError(msg)
    scenario = bench.scenario

    def spread(kept: Mapping[str, Sequence[Metrics]], metric: str) -> float:
        reference = np.asarray(series(kept[names[0]], metric))
        return max(spread_of((np.asarray(series(kept[name], metric)) - reference).tolist()) for name in names[1:])

    runs = run_to_precision(bench, {name: Variant(name) for name in names}, METRICS, precision, spread)
    differences, family = differences_of(runs, names)
    comparison = Comparison(
        scenario=scenario,
        plans=tuple(names),
        replications=len(runs[names[0]]),
        inputs=differing_inputs(scenario, names),
        runs=runs,
        summary=summarise([(name, rows) for name in names for rows in runs[name]]),
        differences=differences,
        family=family,
        changeovers={name: changeover(scenario, name) for name in names},
        break_even=[],
    )
    return replace(comparison, break_even=[_break_even(comparison, name) for name in names[1:]])


def with_programmes(scenario: Scenario, plans: Sequence[str], programmes: Sequence[str]) -> tuple[Scenario, list[str]]:
    """Add a plan for each of ``plans`` under each of ``programmes``, and name them.

    Raises
    ------
    SimstoreError
        With every programme that the scenario does not have.
    """
    if not programmes:
        return scenario, list(plans)
    known = {*scenario.settings.programmes, AS_REGISTERED}
    unknown = [name for name in programmes if name not in known]
    if unknown:
        msg = "\n".join(f"no programme '{name}'; {suggestion(name, known)}" for name in unknown)
        raise SimstoreError(msg)
    added = dict(scenario.settings.plans)
    names = []
    for plan in plans:
        for programme in programmes:
            name = housed_name(plan, programme)
            moved = scenario.with_changes({f"plans.{plan}.programme": programme}, what=f"plan '{name}'")
            house = "housed as registered"
            if programme != AS_REGISTERED:
                house = scenario.settings.programmes[programme].label
            label = f"{moved.settings.plans[plan].label}; {house}"
            added[name] = moved.settings.plans[plan].model_copy(update={"label": label})
            names.append(name)
    return replace(scenario, settings=scenario.settings.model_copy(update={"plans": added})), names


def housed_name(plan: str, programme: str) -> str:
    """Name a plan under a programme."""
    return f"{plan} as registered" if programme == AS_REGISTERED else f"{plan} in {programme}"


def differences_of(
    runs: Mapping[str, Sequence[Metrics]], plans: Sequence[str], *, confidence: float = CONFIDENCE
) -> tuple[list[Difference], int]:
    """Paired differences of all metrics of all plans to the first plan, with intervals that hold together.

    Each interval gets ``1 - (1 - confidence) / family``. A metric that is 0 or 1 in each run gets the exact limits of
    its discordant runs instead of a t interval.

    Returns
    -------
    list of Difference
        By plan, then by metric.
    int
        The family: how many intervals hold together.

    References
    ----------
    .. [1] O. J. Dunn, "Multiple comparisons among means", J. Amer. Statist. Assoc. 56, 1961, 52-64.
    """
    units = metric_names([rows for name in plans for rows in runs[name]])
    pairs = {}
    for plan in plans[1:]:
        for metric in units:
            own, reference = (_column(runs[name], metric) for name in (plan, plans[0]))
            both = np.isfinite(own) & np.isfinite(reference)
            pairs[plan, metric] = own[both], reference[both]
    family = max(1, sum(own.size > 1 for own, _ in pairs.values()))
    each = 1.0 - (1.0 - confidence) / family
    return [
        _difference(plan, metric, units[metric], own, reference, each)
        for (plan, metric), (own, reference) in pairs.items()
    ], family


def _difference(
    plan: str, metric: str, unit: str, own: np.ndarray, reference: np.ndarray, confidence: float
) -> Difference:
    if own.size < 2:
        mean = float((own - reference).mean()) if own.size else math.nan
        return Difference(plan, metric, unit, mean, math.nan, math.nan, math.nan, "")
    ratio = variance_ratio(own, reference)
    if metric in SHARES:
        mean, low, high = share_difference(own, reference, confidence=confidence)
        return Difference(plan, metric, unit, mean, low, high, ratio, "")
    found = difference_interval(own - reference, confidence=confidence)
    return Difference(plan, metric, unit, found.mean, found.low, found.high, ratio, found.caution, found.rare_runs)


def share_difference(
    first: np.ndarray, second: np.ndarray, *, confidence: float = CONFIDENCE
) -> tuple[float, float, float]:
    """Difference of two shares over the same runs, with limits that never cover too rarely.

    The difference is the share of runs in which only the first is met less that in which only the second is; each
    gets exact limits at half of the error (Bonferroni), and the limits of the difference are their extremes.

    Parameters
    ----------
    first, second : ndarray, shape (replications,)
        1 where met, else 0.
    confidence : float
        Level of the interval.

    Returns
    -------
    tuple of float
        Estimate, low, high.

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
       binomial", Biometrika 26, 1934, 404-413.
    """
    count = len(first)
    only_first, only_second = int(np.sum(first > second)), int(np.sum(second > first))
    each = 1.0 - (1.0 - confidence) / 2.0
    one, other = (share_limits(met, count, confidence=each) for met in (only_first, only_second))
    mean = (only_first - only_second) / count
    return mean, max(-1.0, float(one.low) - float(other.high)), min(1.0, float(one.high) - float(other.low))


def _column(rows: Sequence[Metrics], metric: str) -> np.ndarray:
    values = np.asarray(series(rows, metric), dtype=np.float64)
    return np.nan_to_num(values) if metric.startswith(NOTHING_DONE) else values


def _break_even(comparison: Comparison, plan: str) -> BreakEven:
    reference = comparison.plans[0]
    discount = comparison.scenario.settings.prices.discount_pct_per_year
    outlay = {name: comparison.changeovers[name].outlay for name in (reference, plan)}
    more = outlay[plan] - outlay[reference]
    running = comparison.summary[reference]["cost_per_year"].estimate.mean
    cost = comparison.difference(plan, "cost_per_year")
    years: list[int | None] = []
    for change in (cost.mean, cost.low, cost.high):
        if math.isnan(change):
            years.append(None)
            continue
        _, base = cumulative_cost(comparison.changeovers[reference], running, discount_pct=discount)
        _, own = cumulative_cost(comparison.changeovers[plan], running + change, discount_pct=discount)
        years.append(break_even_year(own, base) if more > 0 else break_even_year(base, own))
    if more == 0:
        return BreakEven("", "", 0.0, None, None, None)
    dearer, other = (plan, reference) if more > 0 else (reference, plan)
    soonest, latest = (years[1], years[2]) if more > 0 else (years[2], years[1])
    return BreakEven(dearer, other, abs(more), years[0], soonest, latest)


def money_by_year(comparison: Comparison) -> list[tuple[str, int, float, float]]:
    """Rows of plan, year, paid in it, discounted sum to its end. [currency]."""
    rows = []
    discount = comparison.scenario.settings.prices.discount_pct_per_year
    for plan in comparison.plans:
        running = comparison.summary[plan]["cost_per_year"].estimate.mean
        paid, total = cumulative_cost(comparison.changeovers[plan], running, discount_pct=discount)
        rows += [(plan, year, float(paid[year]), float(total[year])) for year in range(HORIZON_YEARS + 1)]
    return rows
