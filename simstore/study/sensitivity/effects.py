"""Which uncertain inputs move cost and held share, and what it is worth to know one of them.

Each input is moved to the ends of its range while all others stay, under the same luck. For the inputs that move most,
all plans of the scenario are simulated at both ends: the value of knowing an input is what is gained, on the mean
over its range, by choosing the plan after it is known instead of before.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simstore.lab.bench import Bench, Task
from simstore.lab.harvest import METRICS
from simstore.lab.precision import Precision, run_to_precision, spread_of
from simstore.plans.variant import Variant
from simstore.results.judged import deciding_metal
from simstore.results.series import series
from simstore.results.summary import Summary, summarise
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Scalar
from simstore.statistics.elementary_effects import ElementaryEffects, elementary_effects, trajectories
from simstore.statistics.intervals import MeanInterval, simultaneous_intervals
from simstore.study.sensitivity.inputs import Input, inputs_of
from simstore.study.sensitivity.knowing import Judged, Knowing, Rows, object_days_short, value_of

BASE: Final = "in use"
COST: Final = "annual_equivalent_cost"
FloatArray = NDArray[np.float64]
Changes = tuple[tuple[str, Scalar], ...]


class Effect(NamedTuple):
    """What one input at one end does to one result: the paired difference to the values in use."""

    name: str
    end: str
    metric: str
    result: float
    difference: MeanInterval


class Screened(NamedTuple):
    """Elementary effects of all inputs on one result."""

    metric: str
    effects: ElementaryEffects


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sensitivity:
    """Outcome of a sensitivity study.

    Attributes
    ----------
    effects : list of Effect
        The intervals of one result hold together.
    knowing : list of Knowing
        Of the inputs that move most; the most valuable first.
    screened : list of Screened
        Empty unless asked for.
    """

    scenario: Scenario
    plan: str
    metal: str
    replications: int
    inputs: tuple[Input, ...]
    summary: Summary
    runs: Mapping[str, Rows]
    effects: list[Effect]
    knowing: list[Knowing]
    screened: list[Screened]
    notes: tuple[str, ...]

    @property
    def metrics(self) -> tuple[str, str]:
        """The two results: held share of the metal that decides, and cost."""
        return f"held_pct.{self.metal}", COST

    @property
    def first_to_measure(self) -> Knowing | None:
        """The input that is most worth knowing; None if no input that was examined changes the choice."""
        return next((row for row in self.knowing if row.is_worth_something), None)

    def effect(self, name: str, end: str, metric: str) -> Effect:
        """Return one of the effects."""
        return next(row for row in self.effects if (row.name, row.end, row.metric) == (name, end, metric))

    def swing(self, name: str, metric: str) -> float:
        """How far the result moves between the two ends and the value in use, in its unit."""
        means = [0.0, *(self.effect(name, end, metric).difference.mean for end in ("low", "high"))]
        return max(means) - min(means)


def sensitivity(
    bench: Bench,
    plan: str,
    precision: Precision,
    *,
    decide: int = 4,
    plans: Sequence[str] = (),
    morris: int = 0,
) -> Sensitivity:
    """Move each uncertain input, and value knowing those that move most.

    Parameters
    ----------
    bench : Bench
    plan : str
        Plan whose cost and held share are looked at.
    precision : Precision
        A half-width is that of a metric's paired difference to the values in use, alone.
    decide : int
        For so many inputs all plans are simulated at both ends.
    plans : sequence of str
        Plans that may be chosen; empty for all of the scenario.
    morris : int
        Trajectories of a screening over the whole ranges at once; 0 for none.

    Raises
    ------
    SimstoreError
        If a stated range does not fit, or a plan cannot run.

    References
    ----------
    .. [1] R. A. Howard, "Decision analysis: practice and promise", Management Science 34, 1988, 679-695 (the tornado).
    .. [2] H. Raiffa, "Decision Analysis", Addison-Wesley, 1968 (value of information).
    """
    scenario = bench.scenario
    inputs, notes = inputs_of(scenario, plan)
    ends: dict[str, Changes] = {BASE: ()}
    for one in inputs:
        for end, value in (("low", one.stated.low), ("high", one.stated.high)):
            ends[f"{one.name} {end}"] = tuple(one.changes(value).items())
    variants = {name: Variant(plan, changes) for name, changes in ends.items()}

    def spread(kept: Mapping[str, Rows], metric: str) -> float:
        base = np.array(series(kept[BASE], metric))
        return max(spread_of((np.array(series(kept[name], metric)) - base).tolist()) for name in variants)

    runs = run_to_precision(bench, variants, METRICS, precision, spread)
    summary = summarise([(name, rows) for name, kept in runs.items() for rows in kept])
    metal = deciding_metal({BASE: summary[BASE]}, scenario.settings)
    found = Sensitivity(
        scenario=scenario,
        plan=plan,
        metal=metal,
        replications=len(runs[BASE]),
        inputs=tuple(inputs),
        summary=summary,
        runs=runs,
        effects=[row for metric in (f"held_pct.{metal}", COST) for row in effects_on(runs, inputs, metric)],
        knowing=[],
        screened=[],
        notes=tuple(notes),
    )
    chosen = movers(found, decide)
    found.knowing.extend(_value_of_knowing(bench, found, ends, chosen, plans, precision.first))
    if morris:
        found.screened.extend(_screened(bench, found, morris))
    return found


def effects_on(runs: Mapping[str, Rows], inputs: Sequence[Input], metric: str) -> list[Effect]:
    """Paired differences of one result to the values in use; their intervals hold together."""
    base = np.array(series(runs[BASE], metric), dtype=np.float64)
    ends = [(one.name, end) for one in inputs for end in ("low", "high")]
    columns = {(name, end): np.array(series(runs[f"{name} {end}"], metric), dtype=np.float64) for name, end in ends}
    moved = {key: column - base for key, column in columns.items()}
    if len(base) > 1:
        intervals = simultaneous_intervals(moved)
    else:
        nan = math.nan
        intervals = {
            key: MeanInterval(mean=float(one[0]), low=nan, high=nan, sd=nan, replications=1, confidence=0.95)
            for key, one in moved.items()
        }
    return [Effect(name, end, metric, float(columns[name, end].mean()), intervals[name, end]) for name, end in ends]


def movers(found: Sensitivity, count: int) -> list[str]:
    """Choose the inputs that move the held share or the cost most, taken in turns from both rankings."""
    rankings = [
        [name for name in sorted(names, key=lambda name: -found.swing(name, metric)) if found.swing(name, metric) > 0]
        for metric in found.metrics
        for names in [[one.name for one in found.inputs]]
    ]
    longest = max((len(ranking) for ranking in rankings), default=0)
    turns = [ranking[place] for place in range(longest) for ranking in rankings if place < len(ranking)]
    return list(dict.fromkeys(turns))[:count]


def _value_of_knowing(
    bench: Bench,
    found: Sensitivity,
    ends: Mapping[str, Changes],
    chosen: Sequence[str],
    plans: Sequence[str],
    first: int,
) -> list[Knowing]:
    allowed = list(dict.fromkeys([*(plans or found.scenario.settings.plans), found.plan]))
    if not chosen or len(allowed) < 2:
        return []
    places = [BASE, *(f"{name} {end}" for name in chosen for end in ("low", "high"))]
    variants = {
        f"{place} / {plan}": Variant(plan, ends[place]) for place in places for plan in allowed if plan != found.plan
    }
    runs = bench.run(variants, METRICS, range(first, first + found.replications))
    judged: dict[str, list[Judged]] = {}
    for place in places:
        for plan in allowed:
            rows = found.runs[place] if plan == found.plan else runs[f"{place} / {plan}"]
            cost = float(np.mean(series(rows, COST)))
            judged.setdefault(place, []).append(Judged(plan, cost, object_days_short(rows, found.scenario)))
    harm = found.scenario.settings.prices.harm_per_object_day
    knowing = [value_of(name, judged[BASE], judged[f"{name} low"], judged[f"{name} high"], harm) for name in chosen]
    if harm is not None:
        return sorted(knowing, key=lambda row: -row.in_all)
    return sorted(knowing, key=lambda row: (-row.object_days, -row.money))


def _screened(bench: Bench, found: Sensitivity, count: int) -> list[Screened]:
    """Move all inputs together along trajectories; each has its own luck, the same at all of its points."""
    rng = np.random.default_rng([found.scenario.settings.seed, count])
    points = trajectories(len(found.inputs), count, rng)
    outputs = {metric: np.empty(points.shape[:2]) for metric in found.metrics}
    tasks = []
    for number, walk in enumerate(points):
        for shares in walk:
            changes: dict[str, Scalar] = {}
            for one, share in zip(found.inputs, shares, strict=True):
                changes |= one.changes(one.at(float(share)))
            tasks.append(Task(Variant(found.plan, tuple(changes.items())), number))
    kept = list(bench.runs(tasks, METRICS))
    for metric, table in outputs.items():
        table[:] = np.reshape(series(kept, metric), table.shape)
    return [Screened(metric, elementary_effects(points, table)) for metric, table in outputs.items()]
