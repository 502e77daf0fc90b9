"""Which plans of many keep every standard, and which metal class decides it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from simstore.results.metrics import MetricValue
from simstore.results.series import series
from simstore.results.summary import Summary
from simstore.scenario.values.housing import Metal
from simstore.scenario.values.settings import Settings
from simstore.statistics.estimate import Estimate, mean_interval

CONFIDENCE: Final = 0.95
MET, NOT_MET, OPEN = "met", "NOT met", "open"
Runs = Mapping[str, Sequence[tuple[MetricValue, ...]]]
"""What was kept, by case, then by replication."""


def verdict(held: Estimate, metal: Metal) -> str:
    """Say whether a standard is met: :data:`MET`, :data:`NOT_MET`, or :data:`OPEN` where the runs cannot tell."""
    low, high = (held.mean if math.isnan(bound) else bound for bound in (held.low, held.high))
    if low >= metal.standard_pct:
        return MET
    return NOT_MET if high < metal.standard_pct else OPEN


def metals_of(runs: Runs) -> list[str]:
    """Metal classes that have objects, in the order of the metrics."""
    first = next(iter(runs.values()))[0]
    return [row.metric.partition(".")[2] for row in first if row.metric.startswith("held_pct.")]


def meets_all(runs: Runs, settings: Mapping[str, Settings], *, confidence: float = CONFIDENCE) -> dict[str, bool]:
    """Say of each case whether the mean held share of every metal class is surely at its standard or above.

    All these statements hold together: each uses the error over the number of cases and metal classes (Bonferroni).
    With one replication the share itself is taken.

    Parameters
    ----------
    runs : mapping
    settings : mapping of str to Settings
        By case, with the standards.
    confidence : float
        Level of the joint one-sided statement.

    References
    ----------
    .. [1] O. J. Dunn, "Multiple comparisons among means", J. Amer. Statist. Assoc. 56, 1961, 52-64.
    """
    metals = metals_of(runs)
    two_sided = 1.0 - 2.0 * (1.0 - confidence) / (len(runs) * len(metals))
    judged = {}
    for name, kept in runs.items():
        lows = []
        for metal in metals:
            found = mean_interval(series(kept, f"held_pct.{metal}"), two_sided)
            low = found.mean if math.isnan(found.low) else found.low
            lows.append(low >= settings[name].metals[metal].standard_pct)
        judged[name] = all(lows)
    return judged


def deciding_metal(summary: Summary, settings: Settings) -> str:
    """Name the metal class whose held share falls furthest below its standard, or comes nearest to it."""
    margins: dict[str, float] = {}
    for metrics in summary.values():
        for name, measured in metrics.items():
            if name.startswith("held_pct."):
                metal = name.partition(".")[2]
                margin = measured.estimate.mean - settings.metals[metal].standard_pct
                margins[metal] = min(margin, margins.get(metal, math.inf))
    return min(margins, key=lambda metal: (margins[metal], settings.metals[metal].ceiling_rh_pct, metal))


def total_excess(kept: Sequence[tuple[MetricValue, ...]]) -> list[float]:
    """Excess over all metal classes of each run. [%RH days a year]."""
    return [float(np.sum([row.value for row in rows if row.metric.startswith("excess_pct_days.")])) for rows in kept]
