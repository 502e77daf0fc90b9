"""Finds the cheapest plan that keeps its promise: screen all, simulate few, prove one on fresh years."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from simstore.errors import SimstoreError
from simstore.scenario.value import Scenario
from simstore.study.bench import Bench
from simstore.study.binomial import clear_years_needed
from simstore.study.feasible_cheapest import CheapestSearch, Outcome
from simstore.study.grid import Candidate, candidates_of
from simstore.study.marginal import MarginalRow, marginal_rows, steps_from
from simstore.study.pareto import front_order, pareto_front
from simstore.study.screen import Screened
from simstore.study.search_evidence import Finding, finding_of
from simstore.study.search_rule import SearchRule
from simstore.study.shortage import Shortage, shortage_of

MET = "years_met"
PILOT = 2
"""Replications of one plan of each base, to set the screening model right before the order of trial is made."""
ERRS_BY = 0.5
"""Share of the allowed misses by which the screening model may err before a plan is left out for it."""
MARGINAL_REPLICATIONS = 12
Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class FindOptions:
    """What is asked of a search.

    Attributes
    ----------
    target : float
        Share of simulated years in which every metal class must meet its standard. Nine years of ten by default: a
        promise that can be proven within some hundred simulated years; 0.99 would take several hundred for each plan.
    confidence : float
        Level at which the plan is proven to exceed the target.
    budget : int
        Most simulated years for search and proof.
    marginal_replications : int
        Simulated years for each row of the marginal table; 0 leaves it out.
    front_plans, front_replications : int
        Plans along the expected front between cost and held share that are simulated, and simulated years of each.
    """

    target: float = 0.9
    confidence: float = 0.95
    budget: int = 300
    marginal_replications: int = MARGINAL_REPLICATIONS
    front_plans: int = 6
    front_replications: int = 4

    def rule(self, budget: int | None = None) -> SearchRule:
        """Rule of the sequential procedure; caps grow with the target, so that it can be proven at all."""
        error = 1.0 - self.confidence
        needed = clear_years_needed(self.target, confidence=1.0 - error / 3.0)
        return SearchRule(
            target=self.target,
            error=error,
            cap=max(64, 2 * needed),
            proof_cap=max(256, 6 * needed),
            proof_power=0.8,
            window=2,
            cost_tolerance=0.005,
            cost_slack=0.01,
            budget=self.budget if budget is None else budget,
        )


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


@dataclass(slots=True, kw_only=True)
class Found:
    """What a search found.

    Attributes
    ----------
    options : FindOptions
    screened : dict of Candidate to Screened
        Every candidate, with what the screening model expects, set right by the simulated plans.
    left_out : tuple of Candidate
        Candidates that the screening model gives no hope, by more than its error.
    twins : dict of Candidate to Candidate
        Plans that were not tried since the screening model sees them do as the cheaper one does, with means to spare.
    finding : Finding
        Verdicts and evidence for the others.
    chosen : Candidate or None
        The cheapest proven plan.
    fresh : range
        Replications of its proof.
    marginal : list of MarginalRow
    shortage : Shortage or None
        What is short, if nothing holds.
    bench : Bench
        All measured samples.
    """

    scenario: Scenario
    options: FindOptions
    screened: dict[Candidate, Screened]
    left_out: tuple[Candidate, ...]
    twins: dict[Candidate, Candidate]
    finding: Finding[Candidate]
    chosen: Candidate | None
    fresh: range
    bench: Bench
    marginal: list[MarginalRow] = field(default_factory=list)
    trade_off: list[TradeOff] = field(default_factory=list)
    shortage: Shortage | None = None

    @property
    def simulated(self) -> list[Candidate]:
        """Candidates with at least two replications in the search, in the order of cost."""
        return [key for key, evidence in self.finding.evidence.items() if evidence.replications > 1]


def find_plan(
    scenario: Scenario,
    bench: Bench,
    options: FindOptions,
    *,
    candidates: Sequence[Candidate] | None = None,
    say: Say | None = None,
) -> Found:
    """Search for the cheapest plan whose share of good years is proven to exceed the target.

    Parameters
    ----------
    scenario : Scenario
        With a search space, or without one for plans near its own.
    bench : Bench
        Simulates; its number of workers and what it remembers change nothing but the time.
    options : FindOptions
        Target, confidence, budget.
    candidates : sequence of Candidate, optional
        Instead of the scenario's search space.
    say : callable, optional
        Is told what is being done.

    Raises
    ------
    SimstoreError
        If the search space is not in order, or a plan cannot run.
    """
    tell = say or (lambda _text: None)
    tell("listing plans")
    plans = list(candidates_of(scenario) if candidates is None else candidates)
    if not plans:
        msg = "the search space holds no plan"
        raise SimstoreError(msg)
    tell(f"screening {len(plans)} plans")
    screened = bench.screen(plans)
    tell("simulating a few plans to check the screening")
    guide = Guide(scenario, bench, screened)
    guide.pilot(options.target)
    hopeful = [plan for plan in plans if guide.has_hope(plan, options.target)]
    twins = twins_of(screened)
    apart = [plan for plan in hopeful if plan not in twins]
    if not hopeful:  # give the best of the hopeless a trial, so that the verdict is never the screening model's
        apart = hopeful = sorted(plans, key=lambda plan: (-screened[plan].margin_pct, screened[plan].cost))[:2]
    tell(f"simulating: {len(hopeful)} plans may hold")
    search = searched(guide, apart, options)
    if search.winner is None and len(hopeful) > len(apart) and search.spent < options.budget:
        tell("none is proven: trying those with more means too")
        search = searched(guide, hopeful, options)
    finding = finding_of(search)
    winner = search.winner
    chosen = None if winner is None else search.keys[winner]
    proof = next((p for p in search.proofs if p.outcome == "proven"), None)
    fresh = range(0) if proof is None else range(proof.first, proof.first + len(proof.mets))
    found = Found(
        scenario=scenario,
        options=options,
        screened={plan: guide.expected(plan) for plan in plans},
        left_out=tuple(plan for plan in plans if plan not in set(hopeful)),
        twins={plan: first for plan, first in twins.items() if plan not in set(search.keys)},
        finding=finding,
        chosen=chosen,
        fresh=fresh,
        bench=bench,
    )
    tell("what more cost buys")
    found.trade_off = trade_off(guide, options)
    if chosen is not None and options.marginal_replications > 1:
        tell("what each extra hour, oven or kilogram buys")
        steps = steps_from(scenario, chosen)
        found.marginal = marginal_rows(bench, chosen, steps, fresh[: options.marginal_replications], options.confidence)
    if chosen is None:
        tell("looking for the least change that would hold")
        found.shortage = shortage_of(
            bench, found.simulated or list(search.keys), finding, lambda keys: relaxed(guide, keys, options)
        )
    return found


class Guide:
    """What is expected of every plan: the screening model, set right by the simulated plan most like it."""

    def __init__(self, scenario: Scenario, bench: Bench, screened: dict[Candidate, Screened]) -> None:
        self.scenario, self.bench, self.screened = scenario, bench, screened
        self.standards = {name: metal.standard_pct for name, metal in scenario.settings.metals.items()}
        self._seen: dict[Candidate, tuple[float, float]] = {}

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
        self.bench.measure(chosen, range(PILOT))
        for plan in chosen:
            self.learn(plan, range(PILOT))

    def learn(self, plan: Candidate, replications: Iterable[int]) -> None:
        """Compare simulated replications of one plan with what was expected of it."""
        numbers = list(replications)
        cost = float(np.mean(self.bench.costs(plan, numbers)))
        margin = float(np.mean([self.margin_pct(plan, number) for number in numbers]))
        expected = self.screened[plan]
        self._seen[plan] = (cost / expected.cost if expected.cost > 0.0 else 1.0, margin - expected.margin_pct)

    def margin_pct(self, plan: Candidate, replication: int) -> float:
        """Least distance of a metal's held share from its standard in one replication. [%]."""
        metrics = self.bench.metrics(plan, replication)
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
        factor, shift = self._seen[like]
        return self.screened[plan].corrected(cost_factor=factor, margin_shift_pct=shift)

    def has_hope(self, plan: Candidate, target: float) -> bool:
        """Whether a plan would hold if the screening model erred in its favour by as much as it may."""
        what = self.expected(plan)
        allowed = min(100.0 - self.standards[metal] for metal in what.held_pct)
        draws = len(what.flow.loads)
        erring = what.corrected(
            cost_factor=1.0, margin_shift_pct=ERRS_BY * allowed + what.spread_pct / math.sqrt(draws)
        )
        return erring.promise >= target

    def outcomes(self, plans: list[Candidate], replications: range) -> dict[Candidate, Outcome]:
        """Simulate plans for the sequential procedure."""
        self.bench.measure(plans, replications)
        found = {}
        for plan in plans:
            cost, met = self.bench.costs(plan, replications), self.bench.values(plan, MET, replications)
            found[plan] = Outcome(np.asarray(cost), np.asarray(met) > 0.5)
        return found


def trade_off(guide: Guide, options: FindOptions) -> list[TradeOff]:
    """Simulate plans along the expected front between cost and held share, and mark those that no other beats."""
    expected = [guide.expected(plan) for plan in guide.screened]
    cost, margin = np.array([what.cost for what in expected]), np.array([what.margin_pct for what in expected])
    front = front_order(cost, margin, pareto_front(cost, margin, cost_tolerance=0.01 * float(cost.min())))
    places = sorted({round(place) for place in np.linspace(0, len(front) - 1, options.front_plans).tolist()})
    along = [expected[int(front[place])].candidate for place in places]
    guide.bench.measure(along, range(options.front_replications))
    years: dict[Candidate, int] = {}
    for plan in guide.screened:
        seen = guide.bench.replications_of(plan)
        if seen > 1:
            years[plan] = seen
    costs = np.array([np.mean(guide.bench.costs(plan, range(n))) for plan, n in years.items()])
    margins = np.array([np.mean([guide.margin_pct(plan, r) for r in range(n)]) for plan, n in years.items()])
    marks = pareto_front(costs, margins)
    points = [
        TradeOff(
            plan=plan,
            replications=n,
            cost=float(costs[i]),
            margin_pct=float(margins[i]),
            good_years=round(sum(guide.bench.values(plan, MET, range(n)))),
            on_front=bool(marks[i]),
        )
        for i, (plan, n) in enumerate(years.items())
    ]
    return sorted(points, key=lambda point: (point.cost, -point.margin_pct, point.plan.name))


def searched(guide: Guide, plans: Sequence[Candidate], options: FindOptions) -> CheapestSearch[Candidate]:
    """Run the sequential procedure; if its budget ends with a promising plan, that one is still tried for proof."""
    expected = {plan: guide.expected(plan) for plan in plans}
    sure = (1.0 - options.target) / 2.0  # plans on the edge of the target wait until a surer one is found
    rule = options.rule()
    search = CheapestSearch(
        {plan: what.cost for plan, what in expected.items()},
        guide.outcomes,
        rule,
        promise={plan: what.promise - sure for plan, what in expected.items()},
    )
    _run(guide, search, sure)
    if search.winner is None and search.cheapest_promising() is not None:
        search.rule = options.rule(search.spent + rule.proof_cap)
        _run(guide, search, sure)
    return search


def _run(guide: Guide, search: CheapestSearch[Candidate], sure: float) -> None:
    """Step by step; what is expected of the plans not yet simulated is set right after each step."""
    for _ in search.steps():
        for plan, entry in zip(search.keys, search.plans, strict=True):
            if entry.years:
                guide.learn(plan, range(entry.years))
        for plan, entry in zip(search.keys, search.plans, strict=True):
            if not entry.years:
                what = guide.expected(plan)
                entry.expected_cost, entry.promise = what.cost, what.promise - sure


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


def relaxed(guide: Guide, plans: Sequence[Candidate], options: FindOptions) -> Finding[Candidate]:
    """Search among plans with one more means, for when nothing holds."""
    for plan, what in guide.bench.screen(plans).items():
        guide.screened.setdefault(plan, what)
    return finding_of(searched(guide, plans, options))


def _differences(plan: Candidate, other: Candidate) -> tuple[int, int]:
    """How unlike two candidates are: number of keys that differ, another base plan counting most."""
    mine, theirs = dict(plan.changes), dict(other.changes)
    keys = sum(mine.get(key) != theirs.get(key) for key in {*mine, *theirs})
    return (int(plan.base != other.base), keys)
