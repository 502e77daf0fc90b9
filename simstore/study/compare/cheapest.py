"""Which of the compared plans is the cheapest: runs are added until the others are told apart from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.harvest import METRICS
from simstore.plans.variant import Variant
from simstore.results.judged import NOT_MET, verdict
from simstore.results.objective import SIMULATED_COST
from simstore.results.series import series
from simstore.statistics.least_mean import FloatArray, IntArray, Selection, select_least
from simstore.study.compare.comparison import Comparison

ERROR: Final = 0.05
FIRST: Final = 10
"""Runs of the first stage, from which the spread of the differences is taken; 10 to 20 are usual."""
BATCH: Final = 8
"""Runs that are simulated together, so that all processors have work; not part of the rule."""
MOST: Final = 400
"""Runs of each plan after which it is left open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cheapest:
    """The cheapest of the plans that keep every standard.

    Attributes
    ----------
    plans : tuple of str
        Plans that took part: those that do not miss a standard in the comparison's own runs.
    indifference : float
        Money a year that is not worth telling apart.
    selection : Selection or None
        None if fewer than two plans took part.
    """

    plans: tuple[str, ...]
    indifference: float
    selection: Selection | None

    @property
    def best(self) -> str | None:
        """Name of the plan; None if none takes part."""
        if self.selection is not None:
            return self.plans[self.selection.best]
        return self.plans[0] if self.plans else None

    @property
    def left(self) -> tuple[str, ...]:
        """Plans besides the best that were not told apart from it."""
        if self.selection is None or self.selection.certain:
            return ()
        return tuple(self.plans[i] for i in self.selection.survivors if i != self.selection.best)


def cheapest_of(bench: Bench, comparison: Comparison, indifference: float, *, most: int = MOST) -> Cheapest:
    """Select the cheapest plan that keeps every standard, by Kim and Nelson's procedure under common luck.

    The comparison's runs are its first ones, so that nothing is simulated twice.

    Parameters
    ----------
    bench : Bench
        Has made the comparison.
    comparison : Comparison
    indifference : float
        Smallest difference of the annual-equivalent cost worth finding, above 0. [currency a year]
    most : int
        Runs of each plan after which it is left open.

    Raises
    ------
    SimstoreError
        If ``indifference`` is not above 0.
    """
    if not indifference > 0.0:
        msg = f"what is not worth telling apart must be above 0, got {indifference:g}"
        raise SimstoreError(msg)
    plans = tuple(plan for plan in comparison.plans if not _misses(comparison, plan))
    if len(plans) < 2:
        return Cheapest(plans=plans, indifference=indifference, selection=None)
    known = {plan: list(series(comparison.runs[plan], SIMULATED_COST)) for plan in plans}

    def draw(systems: IntArray, replication: int) -> FloatArray:
        asked = [plans[i] for i in systems]
        short = [plan for plan in asked if len(known[plan]) <= replication]
        if short:
            _extend(bench, known, short, replication)
        return np.array([known[plan][replication] for plan in asked])

    chosen = select_least(draw, len(plans), indifference=indifference, error=ERROR, first=FIRST, most=most)
    return Cheapest(plans=plans, indifference=indifference, selection=chosen)


def _extend(bench: Bench, known: dict[str, list[float]], plans: Sequence[str], replication: int) -> None:
    """Simulate a batch of further runs of ``plans``, up to and beyond ``replication``."""
    begun = min(len(known[plan]) for plan in plans)
    more = bench.run({plan: Variant(plan) for plan in plans}, METRICS, range(begun, replication + BATCH))
    for plan in plans:
        known[plan] += series(more[plan], SIMULATED_COST)[len(known[plan]) - begun :]


def _misses(comparison: Comparison, plan: str) -> bool:
    metals = comparison.scenario.settings.metals
    return any(
        verdict(measured.estimate, metals[metric.partition(".")[2]]) == NOT_MET
        for metric, measured in comparison.summary[plan].items()
        if metric.startswith("held_pct.")
    )
