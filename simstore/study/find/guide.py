"""Guides a search: the screening model says where to look, simulated plans set it right as the search goes on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from simstore.plans.candidates import Candidate
from simstore.scenario.scenario import Scenario
from simstore.screen.screening import Screened
from simstore.statistics.cheapest_feasible import CheapestSearch, Outcome
from simstore.study.find.options import FindOptions
from simstore.study.find.samples import Samples

MET = "years_met"
PILOT = 2
"""Replications of a few plans of each base, to set the screening model right before the order of trial is made."""
ERRS_BY = 0.5
"""Share of the allowed misses by which the screening model may err before a plan is left out for it."""

ENOUGH_FOR_SPREAD = 8
"""So many simulated years of a plan tell more about the spread between years than the screening model does."""
LEARNT_SD_SHARE = 0.05
"""Error that is left after the model was set right, as a share of the allowed misses (an assumption)."""

MOST_EXTENSIONS = 3
"""So often the years of a proof may be added to the budget, rather than to end without any plan."""
HOURS = "technicians."
AFTER = 1.015
"""Factor that is more than the differences of cost for which a search still looks."""


class Seen(NamedTuple):
    """What simulated years of a plan showed of the screening model: factor of the cost, shift and spread of the margin.

    The spread is None with too few years to know it.
    """

    cost_factor: float
    margin_shift_pct: float
    spread_pct: float | None


class Guide:
    """What is expected of every plan: the screening model, set right by the simulated plan most like it."""

    def __init__(self, scenario: Scenario, samples: Samples, screened: dict[Candidate, Screened]) -> None:
        self.scenario, self.samples, self.screened = scenario, samples, screened
        self.standards = {name: metal.standard_pct for name, metal in scenario.settings.metals.items()}
        self._seen: dict[Candidate, Seen] = {}

    def pilot(self, target: float) -> None:
        """Simulate a few candidates of each base plan: the cheapest that may hold, are expected to, and surely do."""
        chosen: list[Candidate] = []
        for base in dict.fromkeys(plan.base for plan in self.screened):
            mine = [(plan, what) for plan, what in self.screened.items() if plan.base == base]
            for wanted in (1.0 - target, target, 1.0 - (1.0 - target) / 100.0):
                good = [entry for entry in mine if entry[1].promise >= wanted]
                if good:
                    chosen.append(min(good, key=lambda e: e[1].cost)[0])
            if not chosen or chosen[-1].base != base:
                chosen.append(max(mine, key=lambda e: e[1].margin_pct)[0])
        chosen = list(dict.fromkeys(chosen))
        self.samples.measure(chosen, range(PILOT))
        for plan in chosen:
            self.learn(plan, range(PILOT))

    def learn(self, plan: Candidate, replications: Iterable[int]) -> None:
        """Compare simulated replications of one plan with what was expected of it."""
        numbers = list(replications)
        cost = float(np.mean(self.samples.costs(plan, numbers)))
        margins = [self.margin_pct(plan, number) for number in numbers]
        expected = self.screened[plan]
        spread = None
        if len(numbers) >= ENOUGH_FOR_SPREAD:
            spread = math.hypot(float(np.std(margins, ddof=1)), LEARNT_SD_SHARE * max(self._allowed_pct(plan), 0.1))
        self._seen[plan] = Seen(
            cost / expected.cost if expected.cost > 0.0 else 1.0, float(np.mean(margins)) - expected.margin_pct, spread
        )

    def margin_pct(self, plan: Candidate, replication: int) -> float:
        """Least distance of a metal's held share from its standard in one replication. [%]."""
        metrics = self.samples.metrics(plan, replication)
        return min(
            metrics[f"held_pct.{metal}"] - standard
            for metal, standard in self.standards.items()
            if f"held_pct.{metal}" in metrics
        )

    def expected(self, plan: Candidate) -> Screened:
        """Return the screening's answer with the error that it had for the simulated plan that differs least."""
        like = min(self._seen, key=lambda other: _differences(plan, other), default=None)
        if like is None:
            return self.screened[plan]
        seen = self._seen[like]
        return self.screened[plan].corrected(
            cost_factor=seen.cost_factor, margin_shift_pct=seen.margin_shift_pct, spread_pct=seen.spread_pct
        )

    def _allowed_pct(self, plan: Candidate) -> float:
        """Least share of object-days that a standard allows to be missed. [%]."""
        return min(100.0 - self.standards[metal] for metal in self.screened[plan].held_pct)

    def has_hope(self, plan: Candidate, target: float) -> bool:
        """Whether a plan would hold if the screening model erred in its favour by as much as it may."""
        what = self.expected(plan)
        allowed = self._allowed_pct(plan)
        draws = len(what.flow.loads)
        erring = what.corrected(
            cost_factor=1.0, margin_shift_pct=ERRS_BY * allowed + what.spread_pct / math.sqrt(draws)
        )
        return erring.promise >= target

    def outcomes(self, plans: list[Candidate], replications: range) -> dict[Candidate, Outcome]:
        """Simulate plans for the sequential procedure."""
        self.samples.measure(plans, replications)
        found = {}
        for plan in plans:
            cost, met = self.samples.costs(plan, replications), self.samples.values(plan, MET, replications)
            found[plan] = Outcome(np.asarray(cost), np.asarray(met) > 0.5)
        return found


def searched(guide: Guide, plans: Sequence[Candidate], options: FindOptions) -> CheapestSearch[Candidate]:
    """Run the sequential procedure; plans that look as if they hold when its budget ends are still tried."""
    expected = {plan: guide.expected(plan) for plan in plans}
    costs = ordered_costs({plan: what.cost for plan, what in expected.items()}, frozenset())
    sure = (1.0 - options.target) / 2.0  # plans on the edge of the target wait until a surer one is found
    rule = options.rule()
    search = CheapestSearch(
        costs,
        guide.outcomes,
        rule,
        promise={plan: what.promise - sure for plan, what in expected.items()},
    )
    _run(guide, search, sure)
    for _ in range(MOST_EXTENSIONS):
        if search.winner is not None or not _has_a_sure_plan(search):
            break
        search.rule = options.rule(search.spent + rule.proof_cap)
        _run(guide, search, sure)
    return search


def _has_a_sure_plan(search: CheapestSearch[Candidate]) -> bool:
    """Whether a plan is promising, or is still to be tried and surely expected to hold."""
    return search.cheapest_promising() is not None or any(
        plan.standing == "open" and plan.promise is not None and plan.promise >= search.rule.target
        for plan in search.plans
    )


def _run(guide: Guide, search: CheapestSearch[Candidate], sure: float) -> None:
    """Step by step; what is expected of the plans not yet simulated is set right after each step."""
    for _ in search.steps():
        for plan, entry in zip(search.keys, search.plans, strict=True):
            if entry.years:
                guide.learn(plan, range(entry.years))
        expected = {plan: guide.expected(plan) for plan in search.keys}
        seen = frozenset(plan for plan, entry in zip(search.keys, search.plans, strict=True) if entry.years)
        costs = ordered_costs({plan: what.cost for plan, what in expected.items()}, seen)
        for plan, entry in zip(search.keys, search.plans, strict=True):
            if not entry.years:
                entry.expected_cost, entry.promise = costs[plan], expected[plan].promise - sure


def ordered_costs(costs: dict[Candidate, float], simulated: frozenset[Candidate]) -> dict[Candidate, float]:
    """Order expected costs so as to put a plan with added hours after the same plan without them.

    Hours cost nothing until they are worked, so nothing else would keep a search from asking for more than are needed.
    """
    found = dict(costs)
    for plan, cost in costs.items():
        without = Candidate(plan.base, tuple(each for each in plan.changes if not each[0].startswith(HOURS)))
        if without == plan or without not in costs:
            continue
        if without not in simulated:
            found[without] = min(found[without], cost)
        found[plan] = max(cost, found[without]) * AFTER
    return found


def twins_of(screened: dict[Candidate, Screened]) -> dict[Candidate, Candidate]:
    """Plans for which the screening model sees the same year as for a cheaper one; ties go to the fewer changes."""
    first: dict[int, Candidate] = {}
    order = sorted(screened, key=lambda plan: (screened[plan].cost, len(plan.changes), plan.name))
    twins = {}
    for plan in order:
        same = first.setdefault(id(screened[plan].flow), plan)
        if same != plan:
            twins[plan] = same
    return twins


def _differences(plan: Candidate, other: Candidate) -> tuple[int, int]:
    """How unlike two candidates are: number of keys that differ, another base plan counting most."""
    mine, theirs = dict(plan.changes), dict(other.changes)
    keys = sum(mine.get(key) != theirs.get(key) for key in {*mine, *theirs})
    return (int(plan.base != other.base), keys)
