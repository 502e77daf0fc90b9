"""The marginal table: what one more oven, two more hours, ten more kilograms or one step of cadence buys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simstore.errors import SimstoreError
from simstore.plans.candidates import Candidate, said_value
from simstore.plans.ladder import cadence_ladder, more_hours, packets_for
from simstore.results.objective import SIMULATED_COST
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Scalar
from simstore.statistics.intervals import MeanInterval, simultaneous_intervals
from simstore.study.find.samples import Samples

HOURS_A_WEEK = 2.0
GEL_KG = 10.0
HELD = "held_pct."


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One change to a plan.

    Attributes
    ----------
    what : str
        The change in words.
    resource : str
        "oven", "hours", "gel", "cadence" or "trigger".
    changes : dict of str to scalar
        Dotted keys.
    idle_hours_cost : float
        What the hours would cost a year more if they were paid whether there is work or not; 0 for the rest.
    """

    what: str
    resource: str
    changes: dict[str, Scalar]
    idle_hours_cost: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginalRow:
    """One line of the marginal table: changed plan minus chosen plan, replication by replication.

    Attributes
    ----------
    step : Step
    candidate : Candidate
        The changed plan.
    differences : dict of str to MeanInterval
        By metric: held share of each metal, cost, share of good years, hours, loads. The intervals of one metric hold
        together for all lines of the table.
    problem : str
        Why the changed plan cannot run; empty if it can.
    """

    step: Step
    candidate: Candidate
    differences: dict[str, MeanInterval]
    problem: str = ""


def steps_from(scenario: Scenario, chosen: Candidate) -> list[Step]:
    """Single steps from the chosen plan, in a fixed order."""
    derived = chosen.scenario_of(scenario).settings
    plan = derived.plans[chosen.base]
    steps = [
        Step(
            what=f"one more oven ({name}: {oven.count + 1})",
            resource="oven",
            changes={f"ovens.{name}.count": oven.count + 1},
        )
        for name, oven in derived.ovens.items()
    ]
    longer = more_hours(derived, HOURS_A_WEEK)
    if longer is not None:
        key, _, text = longer
        wage = derived.technicians[key.split(".")[1]].wage_per_h
        steps.append(
            Step(
                what=f"{HOURS_A_WEEK:g} h a week more ({text})",
                resource="hours",
                changes={key: text},
                idle_hours_cost=HOURS_A_WEEK * 52.0 * wage,
            )
        )
    for name, stock in derived.stock.items():
        more = packets_for(derived, name, GEL_KG)
        steps.append(
            Step(
                what=f"{GEL_KG:g} kg more gel ready ({more} packets {name})",
                resource="gel",
                changes={f"stock.{name}.ready": stock.ready + more},
            )
        )
    for key, (half, now, twice) in cadence_ladder(chosen.base, plan).items():
        shorter, longer_weeks = _neighbours(scenario, key, float(now), float(half), float(twice))
        metal = key.rpartition(".cadence_weeks")[2].lstrip(".")
        of = f" for {metal}" if metal else ""
        steps += [
            Step(
                what=f"cadence{of} {said_value(weeks)} weeks instead of {said_value(float(now))}",
                resource="cadence",
                changes={key: weeks},
            )
            for weeks in (shorter, longer_weeks)
        ]
    if plan.goes_by("trigger_pct"):
        key = f"plans.{chosen.base}.trigger_pct"
        now_pct = plan.trigger_pct
        lower, higher = _neighbours(scenario, key, now_pct, now_pct - 10.0, min(now_pct + 10.0, 150.0))
        steps += [
            Step(
                what=f"change at {said_value(pct)} % of the ceiling instead of {said_value(now_pct)} %",
                resource="trigger",
                changes={key: pct},
            )
            for pct in (lower, higher)
            if 0.0 < pct <= 150.0
        ]
    return steps


def _neighbours(scenario: Scenario, key: str, now: float, lower: float, higher: float) -> tuple[float, float]:
    """Return the next values of the search space below and above; ``lower`` and ``higher`` where it has none."""
    search = scenario.settings.search
    listed = () if search is None else search.vary.get(key, ())
    numbers = sorted({float(value) for value in listed if isinstance(value, int | float)} - {now})
    below, above = [v for v in numbers if v < now], [v for v in numbers if v > now]
    return (below[-1] if below else lower, above[0] if above else higher)


def marginal_rows(
    samples: Samples, chosen: Candidate, steps: Sequence[Step], replications: Sequence[int], confidence: float
) -> list[MarginalRow]:
    """Measure every step on the same replications as the chosen plan.

    Parameters
    ----------
    samples : Samples
    chosen : Candidate
    steps : sequence of Step
    replications : sequence of int
        At least two; best those of the proof, which no choice has seen.
    confidence : float
        Joint level of the intervals of one metric over all steps.
    """
    changed = {}
    problems = {}
    for step in steps:
        candidate = chosen.changed(step.changes)
        try:
            candidate.scenario_of(samples.scenario)
        except SimstoreError as error:
            problems[step.what] = str(error)
        changed[step.what] = candidate
    runnable = [candidate for what, candidate in changed.items() if what not in problems]
    samples.measure([chosen, *runnable], replications)
    names = [
        name
        for name in samples.metrics(chosen, replications[0])
        if name.startswith(HELD)
        or name in (SIMULATED_COST, "cost_per_year", "years_met", "staff_h", "loads", "exchanges")
    ]
    intervals: dict[str, dict[str, MeanInterval]] = {}
    for name in names:
        here = samples.values(chosen, name, replications)
        differences = {
            what: [a - b for a, b in zip(samples.values(candidate, name, replications), here, strict=True)]
            for what, candidate in changed.items()
            if what not in problems
        }
        for what, interval in simultaneous_intervals(differences, confidence=confidence).items():
            intervals.setdefault(what, {})[name] = interval
    return [
        MarginalRow(
            step=step,
            candidate=changed[step.what],
            differences=intervals.get(step.what, {}),
            problem=problems.get(step.what, ""),
        )
        for step in steps
    ]
