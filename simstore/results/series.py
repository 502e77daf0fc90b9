"""Metrics of many runs, looked up by name."""

from __future__ import annotations

import math
from collections.abc import Sequence

from simstore.results.metrics import MetricValue


def series(kept: Sequence[tuple[MetricValue, ...]], metric: str) -> list[float]:
    """Return one metric over the replications; NaN where a run does not have it."""
    return [next((row.value for row in rows if row.metric == metric), math.nan) for rows in kept]


def metric_names(kept: Sequence[tuple[MetricValue, ...]]) -> dict[str, str]:
    """Units of all metrics of these runs, in their order."""
    from simstore.results.metric_names import METRICS

    order = {metric.name: place for place, metric in enumerate(METRICS)}
    units = {row.metric: row.unit for rows in kept for row in rows}
    return {name: units[name] for name in sorted(units, key=lambda name: (order[name.partition(".")[0]], name))}
