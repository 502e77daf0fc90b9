"""A grid over any keys of a scenario: every combination of the given values, under the same luck."""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.harvest import METRICS, Metrics
from simstore.lab.precision import Precision, run_to_precision, spread_of_metric
from simstore.plans.variant import Variant
from simstore.results.summary import Summary, summarise
from simstore.scenario.checking.key_paths import UNIT_TEXT, unit_text
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Scalar

MOST_POINTS: Final = 2000
"""A grid of more points is refused: it would take days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One combination of values.

    Attributes
    ----------
    name : str
        ``point 0001`` and so on, in the order of the grid.
    chosen : mapping of str to scalar
        By dotted key.
    """

    name: str
    chosen: Mapping[str, Scalar]

    @property
    def label(self) -> str:
        """Name the values that make the point."""
        return ", ".join(said_of(key, value) for key, value in self.chosen.items())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sweep:
    """Outcome of a sweep.

    Attributes
    ----------
    scenarios : mapping of str to Scenario
        As each point has it.
    runs : mapping of str to list of tuple of MetricValue
        By point, then by replication.
    """

    scenario: Scenario
    plan: str
    replications: int
    points: tuple[Point, ...]
    scenarios: Mapping[str, Scenario]
    runs: Mapping[str, list[Metrics]]
    summary: Summary


def varied(given: Sequence[str] | Mapping[str, Sequence[Scalar]]) -> dict[str, list[Scalar]]:
    """Read what varies.

    Parameters
    ----------
    given : sequence of str, or mapping of str to sequence of scalar
        ``KEY=v1,v2,v3`` texts, whose values are written as in a scenario (a bare word is a text); or values by key.

    Raises
    ------
    SimstoreError
        With every text that is not in order.
    """
    if isinstance(given, Mapping):
        return _varied_values(given)
    found: dict[str, list[Scalar]] = {}
    problems = []
    for text in given:
        key, equals, rest = text.partition("=")
        key = key.strip()
        values = [part.strip() for part in rest.split(",")]
        if not equals or not key or not all(values):
            problems.append(f"--vary '{text}': must be KEY=VALUE,VALUE,... such as ovens.small.count=1,2")
        elif key in found:
            problems.append(f"--vary '{text}': {key} stands twice")
        elif len(set(values)) < len(values):
            problems.append(f"--vary '{text}': a value stands twice")
        else:
            found[key] = [_scalar(value) for value in values]
    if not given:
        problems.append("nothing varies: give --vary KEY=VALUE,VALUE,...")
    if problems:
        raise SimstoreError("\n".join(problems))
    return found


def _varied_values(given: Mapping[str, Sequence[Scalar]]) -> dict[str, list[Scalar]]:
    problems = [] if given else ["nothing varies: give values by key, such as {'ovens.small.count': [1, 2]}"]
    for key, values in given.items():
        if isinstance(values, str) or not values or len({repr(value) for value in values}) < len(values):
            problems.append(f"vary: {key} = {values!r}: must be a list of values, each once")
    if problems:
        raise SimstoreError("\n".join(problems))
    return {key: list(values) for key, values in given.items()}


def _scalar(text: str) -> Scalar:
    try:
        value = tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text
    return value if isinstance(value, bool | int | float | str) else text


def grid_of(
    scenario: Scenario, plan: str, vary: Mapping[str, Sequence[Scalar]]
) -> tuple[list[Point], dict[str, Scenario]]:
    """Make all points of the grid, the last key running fastest, and check each of them.

    A key ``plan.KEY`` stands for that key of the plan that is run.

    Returns
    -------
    list of Point
    dict of str to Scenario
        As each point has it, by the point's name.

    Raises
    ------
    SimstoreError
        With every problem of every point, each said once.
    """
    full = {_full_key(key, plan): list(values) for key, values in vary.items()}
    count = 1
    for values in full.values():
        count *= len(values)
    if count > MOST_POINTS:
        msg = f"the grid has {count} points; {MOST_POINTS} is the most: leave values or keys out"
        raise SimstoreError(msg)
    points = [
        Point(name=f"point {number:04d}", chosen=dict(zip(full, values, strict=True)))
        for number, values in enumerate(itertools.product(*full.values()), start=1)
    ]
    scenarios: dict[str, Scenario] = {}
    problems: dict[str, None] = {}
    settings = scenario.settings
    own = set(settings.plans[plan].changes)
    for key in full:
        if key in own:
            problems[f"  - {key}: the plan '{plan}' sets it itself and would undo what is varied"] = None
    for point in points:
        try:
            scenarios[point.name] = scenario.with_changes(point.chosen, what="--vary")
        except SimstoreError as error:
            problems.update(dict.fromkeys(str(error).split("\n")[1:]))
    if problems:
        msg = "\n".join(["what varies does not fit the scenario:", *problems])
        raise SimstoreError(msg)
    return points, scenarios


def sweep(bench: Bench, plan: str, vary: Mapping[str, Sequence[Scalar]], precision: Precision) -> Sweep:
    """Simulate ``plan`` at every point of the grid under the same luck.

    Parameters
    ----------
    bench : Bench
    plan : str
        Name of a plan of its scenario.
    vary : mapping of str to sequence of scalar
        Values by dotted key.
    precision : Precision
        A half-width is that of the metric's mean, at the point where it varies most.

    Raises
    ------
    SimstoreError
        If a key, a value or a combination does not fit, or a point cannot run.
    """
    points, scenarios = grid_of(bench.scenario, plan, vary)
    variants = {point.name: Variant(plan, tuple(point.chosen.items())) for point in points}
    runs = run_to_precision(bench, variants, METRICS, precision, spread_of_metric)
    return Sweep(
        scenario=bench.scenario,
        plan=plan,
        replications=len(runs[points[0].name]),
        points=tuple(points),
        scenarios=scenarios,
        runs=runs,
        summary=summarise([(name, rows) for name, kept in runs.items() for rows in kept]),
    )


def said(value: Scalar) -> str:
    """Write a value as it would be given."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else str(value)


def said_of(key: str, value: Scalar) -> str:
    """Write a key and its value for a chart: "cadence 20 weeks", "small count 2"."""
    parts = key.split(".")
    unit = unit_text(parts[-1])
    name = parts[-1]
    if unit:
        name = next((name[: -len(end)] for end, text in UNIT_TEXT.items() if text == unit and name.endswith(end)), name)
    named = parts[0] in ("ovens", "stock", "technicians", "packets", "sorbents") and len(parts) == 3
    return " ".join(part for part in (parts[1] if named else "", name.replace("_", " "), said(value), unit) if part)


def _full_key(key: str, plan: str) -> str:
    return f"plans.{plan}.{key.removeprefix('plan.')}" if key.startswith("plan.") else key
