"""Finds the cheapest plan that keeps its promise: screen all, simulate few, prove one on fresh years."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.plans.candidates import Candidate, candidates_of
from simstore.scenario.scenario import Scenario
from simstore.screen.screening import Screened
from simstore.statistics.search_evidence import Finding, finding_of
from simstore.study.find.guide import Guide, searched, twins_of
from simstore.study.find.marginal import MarginalRow, marginal_rows, steps_from
from simstore.study.find.options import FindOptions
from simstore.study.find.samples import Samples
from simstore.study.find.shortage import Shortage, shortage_of
from simstore.study.find.trade_off import TradeOff, trade_off

Say = Callable[[str], None]


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
        Plans with hope that were not tried, since the screening model sees them do as the cheaper one does, with means
        to spare.
    finding : Finding
        Verdicts and evidence for the others.
    chosen : Candidate or None
        The cheapest proven plan.
    fresh : range
        Replications of its proof.
    marginal : list of MarginalRow
    shortage : Shortage or None
        What is short, if nothing holds.
    samples : Samples
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
    samples: Samples
    marginal: list[MarginalRow] = field(default_factory=list)
    trade_off: list[TradeOff] = field(default_factory=list)
    shortage: Shortage | None = None

    @property
    def simulated(self) -> list[Candidate]:
        """Candidates with at least two replications in the search, in the order of cost."""
        return [key for key, evidence in self.finding.evidence.items() if evidence.replications > 1]

    @property
    def simulated_in_all(self) -> int:
        """Number of candidates with at least two replications in the search, the pilot or the trade-off."""
        return len({*self.simulated, *(point.plan for point in self.trade_off)})

    def counts(self) -> dict[str, int]:
        """Count each candidate once, by what became of it.

        Returns
        -------
        dict of str to int
            ``simulated`` in the search; ``left_out_by_screening``; ``left_out_as_twins``; ``not_needed``, since they
            are expected to cost no less than the plan found; ``not_reached`` before the search ended.
        """
        waiting = [one.verdict for one in self.finding.evidence.values() if one.replications <= 1]
        needless = waiting.count("not needed")
        return {
            "simulated": len(self.simulated),
            "left_out_by_screening": len(self.left_out),
            "left_out_as_twins": len(self.twins),
            "not_needed": needless,
            "not_reached": len(waiting) - needless,
        }


def find_plan(
    bench: Bench,
    options: FindOptions,
    *,
    candidates: Sequence[Candidate] | None = None,
    say: Say | None = None,
    tick: Callable[[int], None] | None = None,
) -> Found:
    """Search for the cheapest plan whose share of good years is proven to exceed the target.

    Parameters
    ----------
    bench : Bench
        Its scenario has a search space, or none for plans near its own; its number of workers and what it remembers
        change nothing but the time.
    options : FindOptions
        Target, confidence, budget.
    candidates : sequence of Candidate, optional
        Instead of the scenario's search space.
    say : callable, optional
        Is told what is being done.
    tick : callable, optional
        Is told the number of simulated years, after each.

    Raises
    ------
    SimstoreError
        If the search space is not in order, or a plan cannot run.
    """
    scenario, samples = bench.scenario, Samples(bench, tick=tick)
    tell = say or (lambda _text: None)
    tell("listing plans")
    plans = list(candidates_of(scenario) if candidates is None else candidates)
    if not plans:
        msg = "the search space holds no plan"
        raise SimstoreError(msg)
    tell(f"screening {len(plans)} plans")
    screened = samples.screen(plans)
    tell("simulating a few plans to check the screening")
    guide = Guide(scenario, samples, screened)
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
    tried, with_hope = set(search.keys), set(hopeful)
    winner = search.winner
    chosen = None if winner is None else search.keys[winner]
    proof = next((p for p in search.proofs if p.outcome == "proven"), None)
    fresh = range(0) if proof is None else range(proof.first, proof.first + len(proof.mets))
    found = Found(
        scenario=scenario,
        options=options,
        screened={plan: guide.expected(plan) for plan in plans},
        left_out=tuple(plan for plan in plans if plan not in with_hope),
        twins={plan: first for plan, first in twins.items() if plan in with_hope and plan not in tried},
        finding=finding,
        chosen=chosen,
        fresh=fresh,
        samples=samples,
    )
    tell("what more cost buys")
    found.trade_off = trade_off(guide, options)
    if chosen is not None and options.marginal_replications > 1:
        tell("what each extra hour, oven or kilogram buys")
        steps = steps_from(scenario, chosen)
        numbers = fresh[: options.marginal_replications]
        found.marginal = marginal_rows(samples, chosen, steps, numbers, options.confidence)
    if chosen is None:
        tell("looking for the least change that would hold")
        found.shortage = shortage_of(
            samples, found.simulated or list(search.keys), finding, lambda keys: relaxed(guide, keys, options)
        )
    return found


def relaxed(guide: Guide, plans: Sequence[Candidate], options: FindOptions) -> Finding[Candidate]:
    """Search among plans with one more means, for when nothing holds."""
    for plan, what in guide.samples.screen(plans).items():
        guide.screened.setdefault(plan, what)
    return finding_of(searched(guide, plans, options))
