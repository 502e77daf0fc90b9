"""The metrics of all replications of each plan, with their intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from simstore.results.columns import RunColumns
from simstore.results.metrics import MetricValue
from simstore.statistics.estimate import Estimate, mean_interval, share_interval

SHARES = ("years_met",)
"""Metrics that are 0 or 1 in each replication; their mean is a share and gets an exact interval."""


class Measured(NamedTuple):
    """One metric over the replications of one plan."""

    unit: str
    estimate: Estimate


Summary = dict[str, dict[str, Measured]]
"""By plan, then by metric."""


def summarise(runs: Sequence[tuple[str, Sequence[MetricValue]]]) -> Summary:
    """Mean and interval of every metric of every plan.

    Parameters
    ----------
    runs : sequence of (plan, metrics of one replication)

    Returns
    -------
    dict of str to dict of str to Measured
        Plans in the order in which they come first, metrics in the order of the manual.
    """
    values: dict[str, dict[str, list[float]]] = {}
    units: dict[str, str] = {}
    for plan, metrics in runs:
        of_plan = values.setdefault(plan, {})
        for row in metrics:
            of_plan.setdefault(row.metric, []).append(row.value)
            units[row.metric] = row.unit
    return {
        plan: {name: Measured(units[name], _estimate(name, series)) for name, series in of_plan.items()}
        for plan, of_plan in values.items()
    }


def summary_of(runs: Sequence[RunColumns]) -> Summary:
    """Mean and interval of every metric of every plan, from the runs' columns.

    Parameters
    ----------
    runs : sequence of RunColumns
        All replications of all plans.
    """
    rows = [run.tables["summary"] for run in runs]
    return summarise(
        [
            (run.plan, [MetricValue(*cells) for cells in zip(row["metric"], row["unit"], row["value"], strict=True)])
            for run, row in zip(runs, rows, strict=True)
        ]
    )


def summary_document(summary: Summary, *, scenario: str, seed: int, replications: int) -> dict[str, Any]:
    """Lay out what ``summary.json`` holds; null where the replications cannot tell."""
    return {
        "scenario": scenario,
        "seed": seed,
        "replications": replications,
        "plans": {
            plan: {
                name: {
                    "unit": measured.unit,
                    "mean": _rounded(measured.estimate.mean),
                    "low": _rounded(measured.estimate.low),
                    "high": _rounded(measured.estimate.high),
                }
                for name, measured in metrics.items()
            }
            for plan, metrics in summary.items()
        },
    }


def _estimate(name: str, series: Sequence[float]) -> Estimate:
    if name in SHARES:
        return share_interval(round(sum(series)), len(series))
    return mean_interval(series)


def _rounded(value: float) -> float | None:
    """Ten significant digits; None for NaN, which JSON does not know."""
    return None if math.isnan(value) else float(f"{value:.10g}")
