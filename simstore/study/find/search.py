"""Finds the cheapest plan that keeps its promise over the horizon: run some plans, then prove one on fresh runs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.plans.candidates import Candidate, candidates_of
from simstore.scenario.scenario import Scenario
from simstore.statistics.cheapest_holding import HoldingSearch
from simstore.statistics.search_evidence import Finding, finding_of
from simstore.study.find.grid import grid_of, trials_of
from simstore.study.find.marginal import MarginalRow, marginal_rows, steps_from
from simstore.study.find.options import FindOptions
from simstore.study.find.samples import Samples
from simstore.study.find.shortage import Shortage, shortage_of
from simstore.study.find.trade_off import TradeOff, trade_off

Say = Callable[[str], None]
SAID = {
    "pilot": "running a few plans far from each other",
    "search": "running the plans that may be the cheapest good one",
    "proof": "proving plans on fresh runs, the surest first",
}
SHORTAGE_SHARE = 0.5
"""Part of the budget for the changes that are tried when nothing holds."""


@dataclass(slots=True, kw_only=True)
class Found:
    """What a search found.

    Attributes
    ----------
    scenario : Scenario
        With runs as long as the horizon.
    options : FindOptions
    finding : Finding
        Verdicts and evidence for all candidates.
    chosen : Candidate or None
        The cheapest proven plan.
    fresh : range
        Replications of its proof.
    marginal : list of MarginalRow
    trade_off : list of TradeOff
    shortage : Shortage or None
        What is short, if nothing holds.
    samples : Samples
        All measured samples.
    """

    scenario: Scenario
    options: FindOptions
    finding: Finding[Candidate]
    chosen: Candidate | None
    fresh: range
    samples: Samples
    marginal: list[MarginalRow] = field(default_factory=list)
    trade_off: list[TradeOff] = field(default_factory=list)
    shortage: Shortage | None = None

    @property
    def horizon_years(self) -> int:
        """Years of a run."""
        return self.scenario.settings.years

    @property
    def simulated(self) -> list[Candidate]:
        """Candidates that were run in the search, in the order of believed cost."""
        return [key for key, evidence in self.finding.evidence.items() if evidence.replications > 0]

    def counts(self) -> dict[str, int]:
        """Count each candidate once: ``simulated``, or judged by the plans like it that were (``believed``)."""
        return {"simulated": len(self.simulated), "believed": len(self.finding.evidence) - len(self.simulated)}


def over_horizon(scenario: Scenario, years: int | None = None) -> Scenario:
    """Let runs of ``scenario`` last as long as the horizon over which plans are judged."""
    settings = scenario.settings
    length = {"years": years or settings.horizon_years, "days": None}
    return replace(scenario, settings=settings.model_copy(update=length))


def find_plan(
    bench: Bench,
    options: FindOptions,
    *,
    candidates: Sequence[Candidate] | None = None,
    say: Say | None = None,
    tick: Callable[[int], None] | None = None,
) -> Found:
    """Search for the cheapest plan whose share of runs that hold is proven to exceed the target.

    Parameters
    ----------
    bench : Bench
        Simulates a scenario with runs as long as the horizon (`over_horizon`); its number of workers and what it
        remembers change nothing but the time.
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
    plans = list(candidates_of(scenario) if candidates is None else candidates)
    if not plans:
        msg = "the search space holds no plan"
        raise SimstoreError(msg)
    search = searched(samples, plans, options, tell)
    finding = finding_of(search)
    chosen = finding.chosen
    proof = next((p for p in reversed(search.proofs) if p.outcome == "proven"), None)
    fresh = range(0) if proof is None else range(proof.first, proof.first + len(proof.runs))
    found = Found(scenario=scenario, options=options, finding=finding, chosen=chosen, fresh=fresh, samples=samples)
    found.trade_off = trade_off(samples, finding)
    if chosen is not None and options.marginal_replications > 1:
        tell("what each extra hour, oven or kilogram buys")
        steps = steps_from(scenario, chosen)
        numbers = fresh[: options.marginal_replications]
        found.marginal = marginal_rows(samples, chosen, steps, numbers, options.confidence)
    if chosen is None:
        tell("looking for the least change that would hold")
        smaller = replace(options, budget=int(SHORTAGE_SHARE * options.budget))
        found.shortage = shortage_of(
            samples, found.simulated, finding, lambda changed: finding_of(searched(samples, changed, smaller, tell))
        )
    return found


def searched(samples: Samples, plans: Sequence[Candidate], options: FindOptions, say: Say) -> HoldingSearch[Candidate]:
    """Run the search over ``plans`` to its end."""
    search = HoldingSearch(
        plans, grid_of(samples.scenario, plans), trials_of(samples), options.asked(samples.scenario.settings.years)
    )
    last = ""
    for step in search.steps():
        if step != last:
            say(f"{SAID[step]} ({len(plans)} plans)" if step == "pilot" else SAID[step])
            last = step
    return search
