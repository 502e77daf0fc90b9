"""A plan when something goes wrong: each failure against the undisturbed plan under the same luck."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simstore.lab.bench import Bench
from simstore.lab.precision import Precision, run_to_precision, spread_of
from simstore.plans.variant import Variant
from simstore.results.series import series
from simstore.results.summary import Summary, summarise
from simstore.scenario.scenario import Scenario
from simstore.statistics.intervals import MeanInterval, simultaneous_intervals
from simstore.study.stress.failures import STRESS_RUNS, Stress, StressRun, stresses_of
from simstore.units import DAYS_PER_WEEK

UNDISTURBED: Final = "undisturbed"
TOLERANCE_POINTS: Final = 0.5
"""The share over is back when it is within this of the undisturbed run, from one week to the end. [points]"""

FloatArray = NDArray[np.float64]


class Loss(NamedTuple):
    """What one stress costs one metal class: stressed minus undisturbed, paired, with intervals that hold together.

    Attributes
    ----------
    held : MeanInterval
        Percentage points of object-days.
    excess : MeanInterval
        %RH days a year.
    worst_points : float
        Largest loss in any week, mean over the runs. [points]
    back_week : int or None
        First week (from 0) from which the share over stays within the tolerance of the undisturbed run; None if
        that is not so at the end of the run.
    """

    stress: str
    metal: str
    held: MeanInterval
    excess: MeanInterval
    worst_points: float
    back_week: int | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressTest:
    """Outcome of a stress test.

    Attributes
    ----------
    runs : dict of str to list of StressRun
        By stress, the undisturbed plan included.
    undone : dict of str to float
        Pieces of work more that still wait at the end, mean over the runs, by stress.
    notes : tuple of str
        Failures that this plan does not know.
    """

    scenario: Scenario
    plan: str
    replications: int
    stresses: tuple[Stress, ...]
    runs: dict[str, list[StressRun]]
    summary: Summary
    losses: list[Loss]
    undone: dict[str, float]
    notes: tuple[str, ...]

    def loss(self, stress: str, metal: str) -> Loss:
        """Return one of the losses."""
        return next(row for row in self.losses if row.stress == stress and row.metal == metal)

    def week_held(self, case: str, metal: str) -> FloatArray:
        """Share held in each whole week, mean over the runs, shape (weeks,). [%]."""
        return np.mean([run.week_held[metal] for run in self.runs[case]], axis=0)  # type: ignore[no-any-return]


def stress_test(bench: Bench, plan: str, precision: Precision) -> StressTest:
    """Simulate ``plan`` undisturbed and under each failure.

    Parameters
    ----------
    bench : Bench
    plan : str
        Name of a plan of its scenario.
    precision : Precision
        A half-width is that of a metric's paired difference to the undisturbed run, alone.

    Raises
    ------
    SimstoreError
        If the plan cannot run.
    """
    undisturbed = {UNDISTURBED: Variant(plan)}
    scouts = bench.run(undisturbed, STRESS_RUNS, range(precision.first, precision.first + precision.replications))
    chosen, notes = stresses_of(bench.scenario, plan, scouts[UNDISTURBED])
    disturbed = {stress.name: variant for stress, variant in chosen}

    def spread(kept: Mapping[str, Sequence[StressRun]], metric: str) -> float:
        reference = np.asarray(_series(kept[UNDISTURBED], metric))
        return max(spread_of((np.asarray(_series(kept[name], metric)) - reference).tolist()) for name in disturbed)

    runs = run_to_precision(bench, undisturbed | disturbed, STRESS_RUNS, precision, spread, known=scouts)
    stresses = tuple(stress for stress, _ in chosen)
    losses = losses_of(runs, stresses)
    undone = {
        stress.name: [
            one.undone - other.undone for one, other in zip(runs[stress.name], runs[UNDISTURBED], strict=True)
        ]
        for stress in stresses
    }
    return StressTest(
        scenario=bench.scenario,
        plan=plan,
        replications=len(runs[UNDISTURBED]),
        stresses=stresses,
        runs=runs,
        summary=summarise([(name, run.metrics) for name, kept in runs.items() for run in kept]),
        losses=losses,
        undone={name: float(np.mean(more)) for name, more in undone.items()},
        notes=notes,
    )


def losses_of(runs: dict[str, list[StressRun]], stresses: Sequence[Stress]) -> list[Loss]:
    """Paired losses of each metal class under each stress; all intervals hold together (Bonferroni)."""
    base = runs[UNDISTURBED]
    metals = list(base[0].week_held)
    if len(base) < 2:
        single = {
            (stress.name, metal, name): _single(runs[stress.name], base, f"{name}.{metal}")
            for stress in stresses for metal in metals for name in ("held_pct", "excess_pct_days")
        }  # fmt: skip
    else:
        single = simultaneous_intervals(
            {
                (stress.name, metal, name): _paired(runs[stress.name], base, f"{name}.{metal}")
                for stress in stresses for metal in metals for name in ("held_pct", "excess_pct_days")
            }
        )  # fmt: skip
    losses = []
    for stress in stresses:
        for metal in metals:
            lost = np.mean(
                [b.week_held[metal] - s.week_held[metal] for s, b in zip(runs[stress.name], base, strict=True)], axis=0
            )
            losses.append(
                Loss(
                    stress.name,
                    metal,
                    single[stress.name, metal, "held_pct"],
                    single[stress.name, metal, "excess_pct_days"],
                    float(lost.max(initial=0.0)),
                    back_week(lost, stress.first_day // DAYS_PER_WEEK),
                )
            )
    return losses


def drawn_metals(found: StressTest) -> list[str]:
    """Metal classes that lose anything worth a word, the hardest hit first; the hardest hit one in any case."""
    ceilings = {name: metal.ceiling_rh_pct for name, metal in found.scenario.settings.metals.items()}
    lost: dict[str, float] = {}
    for row in found.losses:
        lost[row.metal] = min(row.held.mean, lost.get(row.metal, math.inf))
    ordered = sorted(lost, key=lambda metal: (lost[metal], ceilings[metal], metal))
    felt = {row.metal for row in found.losses if row.worst_points > TOLERANCE_POINTS}
    return [metal for metal in ordered if metal in felt or metal == ordered[0]]


def back_week(lost_points: FloatArray, from_week: int, *, tolerance: float = TOLERANCE_POINTS) -> int | None:
    """Find the first week, not before ``from_week``, from which the loss stays within the tolerance to the end."""
    worse = np.flatnonzero(np.abs(lost_points) > tolerance)
    if worse.size == 0:
        return from_week
    after = max(int(worse[-1]) + 1, from_week)
    return after if after < len(lost_points) else None


def _series(kept: Sequence[StressRun], metric: str) -> list[float]:
    return series([run.metrics for run in kept], metric)


def _paired(stressed: Sequence[StressRun], base: Sequence[StressRun], metric: str) -> FloatArray:
    return np.array(_series(stressed, metric), dtype=np.float64) - np.array(_series(base, metric), dtype=np.float64)


def _single(stressed: Sequence[StressRun], base: Sequence[StressRun], metric: str) -> MeanInterval:
    """One run: a difference without an interval."""
    value = float(_paired(stressed, base, metric)[0])
    return MeanInterval(mean=value, low=math.nan, high=math.nan, sd=math.nan, replications=1, confidence=0.95)
