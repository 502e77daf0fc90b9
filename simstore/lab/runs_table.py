"""The metrics of all runs of a study in long form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from simstore.results.metrics import MetricValue

if TYPE_CHECKING:
    import pandas as pd


def runs_table(runs: Mapping[str, Sequence[tuple[MetricValue, ...]]]) -> pd.DataFrame:
    """Lay out all metrics of all runs, one row each, as in the table ``summary`` of a run's folder."""
    import pandas as pd

    return pd.DataFrame(long_rows(runs), columns=["plan", "replication", "metric", "unit", "value"])


def long_rows(
    runs: Mapping[str, Sequence[tuple[MetricValue, ...]]],
) -> list[tuple[str, int, str, str, float]]:
    """All metrics of all runs: case, replication, metric, unit, value."""
    return [
        (name, number, row.metric, row.unit, row.value)
        for name, kept in runs.items()
        for number, rows in enumerate(kept)
        for row in rows
    ]
