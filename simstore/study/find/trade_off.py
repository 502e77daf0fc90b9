"""Plans between least cost and most held: a few along the expected front are simulated, and the front is marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from simstore.plans.candidates import Candidate
from simstore.scenario.scenario import Scenario
from simstore.statistics.pareto import front_order, pareto_front
from simstore.study.find.guide import MET, Guide
from simstore.study.find.options import FindOptions

NEAR: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff:
    """One simulated plan between cost and held share.

    Attributes
    ----------
    plan : Candidate
    replications : int
        Simulated years, from replication 0 on.
    cost, margin_pct : float
        Mean cost, and mean distance of the scarcest metal's held share from its standard. [%]
    good_years : int
        Years in which every standard was met.
    on_front : bool
        Whether no other simulated plan costs less and holds more.
    """

    plan: Candidate
    replications: int
    cost: float
    margin_pct: float
    good_years: int
    on_front: bool


def trade_off(guide: Guide, options: FindOptions) -> list[TradeOff]:
    """Simulate plans along the expected front between cost and held share, and mark those that no other beats."""
    expected = [guide.expected(plan) for plan in guide.screened]
    cost, margin = np.array([what.cost for what in expected]), np.array([what.margin_pct for what in expected])
    front = front_order(cost, margin, pareto_front(cost, margin, cost_tolerance=0.01 * float(cost.min())))
    places = sorted({round(place) for place in np.linspace(0, len(front) - 1, options.front_plans).tolist()})
    along = [expected[int(front[place])].candidate for place in places]
    guide.samples.measure(along, range(options.front_replications))
    years: dict[Candidate, int] = {}
    for plan in guide.screened:
        seen = guide.samples.replications_of(plan)
        if seen > 1:
            years[plan] = seen
    costs = np.array([np.mean(guide.samples.costs(plan, range(n))) for plan, n in years.items()])
    margins = np.array([np.mean([guide.margin_pct(plan, r) for r in range(n)]) for plan, n in years.items()])
    marks = pareto_front(costs, margins)
    points = [
        TradeOff(
            plan=plan,
            replications=n,
            cost=float(costs[i]),
            margin_pct=float(margins[i]),
            good_years=round(sum(guide.samples.values(plan, MET, range(n)))),
            on_front=bool(marks[i]),
        )
        for i, (plan, n) in enumerate(years.items())
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
