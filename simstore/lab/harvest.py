"""What is kept of a run: made in the process that simulates, and written so that a cache can give it back."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

from simstore.results.metrics import MetricValue, metrics_of
from simstore.sim.record import RunRecord

Kept = TypeVar("Kept")
Metrics = tuple[MetricValue, ...]
"""All metrics of one run."""


@dataclass(frozen=True, slots=True)
class Harvest(Generic[Kept]):
    """What is kept of a run; all three are functions of a module, so that they can be sent to a worker by name.

    Attributes
    ----------
    name : str
        Part of a run's key in a cache: what one harvest wrote, no other reads.
    of : callable
        Gets the record of the run.
    frozen : callable
        Makes bytes of what was kept.
    thawed : callable
        Makes what was kept of the bytes; raises ValueError, TypeError or KeyError where they are not what it wrote.
    """

    name: str
    of: Callable[[RunRecord], Kept]
    frozen: Callable[[Kept], bytes]
    thawed: Callable[[bytes], Kept]


def _metrics(record: RunRecord) -> Metrics:
    return tuple(metrics_of(record))


def frozen_metrics(metrics: Metrics) -> bytes:
    """Write metrics as JSON; NaN as null."""
    rows = [(row.metric, row.unit, None if row.value != row.value else row.value) for row in metrics]
    return json.dumps(rows).encode()


def thawed_metrics(kept: bytes) -> Metrics:
    """Read metrics back, to the last bit."""
    return tuple(
        MetricValue(str(metric), str(unit), float("nan") if value is None else float(value))
        for metric, unit, value in json.loads(kept)
    )


METRICS: Final[Harvest[Metrics]] = Harvest("metrics", _metrics, frozen_metrics, thawed_metrics)
"""Keeps every metric of a run."""
