"""Plans between least cost and most held: those that the search simulated, with the front marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from simstore.plans.candidates import Candidate
from simstore.results.objective import SIMULATED_COST
from simstore.scenario.scenario import Scenario
from simstore.statistics.pareto import pareto_front
from simstore.statistics.search_evidence import Finding
from simstore.study.find.samples import Samples

MET: Final = "years_met"
NEAR: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff:
    """One simulated plan between cost and held share.

    Attributes
    ----------
    plan : Candidate
    replications : int
        Runs, from replication 0 on.
    cost, margin_pct : float
        Mean cost, and mean distance of the scarcest metal's held share from its standard in its worst year. [%]
    good_years : int
        Runs in which every standard was met in every year.
    on_front : bool
        Whether no other simulated plan costs less and holds more.
    """

    plan: Candidate
    replications: int
    cost: float
    margin_pct: float
    good_years: int
    on_front: bool


def trade_off(samples: Samples, finding: Finding[Candidate]) -> list[TradeOff]:
    """Mark those of the simulated plans that no other beats, in the order of cost."""
    runs = {plan: seen.replications for plan, seen in finding.evidence.items() if seen.replications > 1}
    costs = np.array([np.mean(samples.values(plan, SIMULATED_COST, range(n))) for plan, n in runs.items()])
    margins = np.array([np.mean(samples.values(plan, "margin_pct", range(n))) for plan, n in runs.items()])
    marks = pareto_front(costs, margins)
    points = [
        TradeOff(
            plan=plan,
            replications=n,
            cost=float(costs[i]),
            margin_pct=float(margins[i]),
            good_years=round(sum(samples.values(plan, MET, range(n)))),
            on_front=bool(marks[i]),
        )
        for i, (plan, n) in enumerate(runs.items())
    ]
    return sorted(points, key=lambda point: (point.cost, -point.margin_pct, point.plan.name))


class Drawn(NamedTuple):
    """What the chart of a search shows: plans near enough in cost, above the one standard that all metals share."""

    points: list[TradeOff]
    standard_pct: float
    near: float


def drawn_trade_off(scenario: Scenario, points: Sequence[TradeOff], chosen: Candidate | None) -> Drawn | None:
    """Choose the points of the chart; None with fewer than two plans, or with standards that differ.

    Those are left out that cost more than :data:`NEAR` times as much as the chosen plan, or as the dearest where there
    is none.
    """
    metals = scenario.settings.metals
    standards = {metals[name].standard_pct for name in {one.metal for one in scenario.enclosures}}
    if len(points) < 2 or len(standards) != 1:
        return None
    dearest = max(point.cost for point in points)
    reference = next((point.cost for point in points if point.plan == chosen), dearest)
    return Drawn([point for point in points if point.cost <= NEAR * reference], standards.pop(), NEAR)
