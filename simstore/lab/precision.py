"""How many runs it takes until the intervals are as narrow as was asked for."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, TypeVar

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.harvest import Harvest, Metrics
from simstore.plans.variant import Simulated
from simstore.results.series import series
from simstore.scenario.scenario import Scenario
from simstore.statistics.intervals import replications_for_half_width

Kept = TypeVar("Kept")

MOST_REPLICATIONS: Final = 2000
"""A half-width that needs more is not pursued; the words say so."""


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
    first : int
        Number of the first replication; those before it are left to what has seen them already.
    """

    replications: int
    half_widths: Mapping[str, float]
    first: int = 0


def run_to_precision(
    bench: Bench,
    variants: Mapping[str, Simulated],
    harvest: Harvest[Kept],
    precision: Precision,
    spread: Callable[[Mapping[str, Sequence[Kept]], str], float],
    *,
    known: Mapping[str, list[Kept]] = MappingProxyType({}),
) -> dict[str, list[Kept]]:
    """Run a pilot, then as many more replications as the stated half-widths need.

    Parameters
    ----------
    bench : Bench
    variants : mapping of str to Simulated
        By name; all have the same luck.
    harvest : Harvest
    precision : Precision
    spread : callable
        Standard deviation between replications of what has the half-width, given all that was kept and a metric's
        name: of the metric itself, or of its paired difference; in the metric's unit.
    known : mapping of str to list, optional
        The pilot of some of the variants, where it has been run already.

    References
    ----------
    .. [1] A. M. Law, "Simulation Modeling and Analysis", McGraw-Hill, section on obtaining a specified precision.
    """
    pilot = {name: variant for name, variant in variants.items() if name not in known}
    found = {**known, **bench.run(pilot, harvest, range(precision.first, precision.first + precision.replications))}
    kept = {name: found[name] for name in variants}
    needed = precision.replications
    for metric, half_width in precision.half_widths.items():
        sd = spread(kept, metric)
        needed = max(needed, replications_for_half_width(sd, half_width, least=2) if sd > 0 else 0)
    needed = min(needed, max(MOST_REPLICATIONS, precision.replications))
    if needed > precision.replications:
        more = bench.run(variants, harvest, range(precision.first + precision.replications, precision.first + needed))
        kept = {name: [*rows, *more[name]] for name, rows in kept.items()}
    return kept


def spread_of_metric(kept: Mapping[str, Sequence[Metrics]], metric: str) -> float:
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


def precision_of(scenario: Scenario, replications: int, texts: Sequence[str], *, first: int = 0) -> Precision:
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
    return Precision(replications=replications, half_widths=half_widths_of(texts, known), first=first)
