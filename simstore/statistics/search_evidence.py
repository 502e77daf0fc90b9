"""What a search for the cheapest plan found: a verdict for every plan, with its evidence and its reason."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

from simstore.statistics.cheapest_feasible import CheapestSearch, Proof
from simstore.statistics.intervals import MeanInterval, mean_interval
from simstore.statistics.search_rule import Candidate, SearchRule, least_difference, lower_limit, upper_limit

Key = TypeVar("Key", bound=Hashable)
Verdict = Literal["holds", "fails", "undecided", "not needed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofEvidence:
    """A plan re-estimated on fresh years, which the search that chose it has never seen.

    Attributes
    ----------
    replications, met : int
        Fresh years, and those that met the standard.
    share_low : float
        One-sided exact lower limit of the share; the plan is proven if it lies above the target.
    confidence : float
        Level of ``share_low``.
    cost : MeanInterval
        Cost on the fresh years, two-sided at one minus the total error.
    proven : bool
        Whether the proof succeeded.
    """

    replications: int
    met: int
    share_low: float
    confidence: float
    cost: MeanInterval
    proven: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence(Generic[Key]):
    """One candidate plan after the search.

    Attributes
    ----------
    key : hashable
        The caller's name of the plan.
    verdict : Verdict
        ``holds`` only if proven on fresh years; ``not needed`` if it cannot be cheaper than the chosen plan.
    replications, met : int
        Years simulated in the search, and those that met the standard.
    share_low, share_high : float
        One-sided exact limits, each at ``confidence``, valid over all looks at this plan; 0 and 1 without data.
    confidence : float
        Level of each of the two limits.
    expected_cost : float
        Cost before simulation.
    cost : MeanInterval or None
        Simulated cost in the search; None with fewer than two years.
    proof : ProofEvidence or None
        The last try on fresh years, if the plan was tried for proof.
    reason : str
        One sentence that says why the verdict is what it is.
    """

    key: Key
    verdict: Verdict
    replications: int
    met: int
    share_low: float
    share_high: float
    confidence: float
    expected_cost: float
    cost: MeanInterval | None
    proof: ProofEvidence | None
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Generic[Key]):
    """The answer of a search.

    Attributes
    ----------
    chosen : hashable or None
        The cheapest plan that was proven; None if none was.
    evidence : dict of key to Evidence
        Every candidate, in the order of cost.
    alike : tuple of hashable
        Simulated plans that do not fail and whose cost cannot be told from the chosen one's, or may be lower.
    next_cheaper, runner_up : hashable or None
        The dearest plan that is cheaper than the chosen one, whatever its verdict; the cheapest of the other plans that
        looked as if they hold.
    undecided_cheaper : tuple of hashable
        Plans that may be cheaper and were neither thrown out nor proven: the choice is the cheapest *proven* plan only.
    spent : int
        Simulated years in all.
    rule : SearchRule
        What was asked.
    """

    chosen: Key | None
    evidence: dict[Key, Evidence[Key]]
    alike: tuple[Key, ...]
    next_cheaper: Key | None
    runner_up: Key | None
    undecided_cheaper: tuple[Key, ...]
    spent: int
    rule: SearchRule


def finding_of(search: CheapestSearch[Key]) -> Finding[Key]:
    """Sum up ``search``, finished or not."""
    winner = search.winner
    chosen = None if winner is None else search.plans[winner]
    order = sorted(range(len(search.plans)), key=lambda i: (search.plans[i].cost, i))
    evidence = {search.keys[i]: _evidence(search, i, chosen) for i in order}
    others = [i for i in order if i != winner]
    cheaper = [i for i in others if chosen is not None and search.plans[i].cost < chosen.cost]
    promising = [i for i in others if search.plans[i].standing == "promising"]
    return Finding(
        chosen=None if winner is None else search.keys[winner],
        evidence=evidence,
        alike=tuple(search.keys[i] for i in others if chosen is not None and _alike(search, search.plans[i], chosen)),
        next_cheaper=search.keys[cheaper[-1]] if cheaper else None,
        runner_up=search.keys[promising[0]] if promising else None,
        undecided_cheaper=tuple(
            search.keys[i] for i in others if chosen and evidence[search.keys[i]].verdict == "undecided"
            and search.could_be_cheaper(search.plans[i], chosen)
        ),
        spent=search.spent,
        rule=search.rule,
    )  # fmt: skip


def _alike(search: CheapestSearch[Key], plan: Candidate, chosen: Candidate) -> bool:
    if plan.standing == "fails" or plan.years == 0:
        return False
    worth = search.rule.cost_tolerance * abs(chosen.cost)
    return least_difference(plan, chosen, search.cost_error(plan, chosen)) <= worth


def _evidence(search: CheapestSearch[Key], i: int, chosen: Candidate | None) -> Evidence[Key]:
    plan, rule = search.plans[i], search.rule
    proof = next((p for p in reversed(search.proofs) if p.plan == i), None)
    verdict = _verdict(search, plan, proof, chosen)
    error = rule.failing_error(plan.years) if plan.years else rule.error * rule.failing_part
    confidence = 1.0 - rule.error
    seen = None if proof is None else _proof_evidence(proof, confidence)
    low, high = lower_limit(plan.met, plan.years, error), upper_limit(plan.met, plan.years, error)
    return Evidence(
        key=search.keys[i],
        verdict=verdict,
        replications=plan.years,
        met=plan.met,
        share_low=low,
        share_high=high,
        confidence=1.0 - error,
        expected_cost=plan.expected_cost,
        cost=mean_interval(plan.costs, confidence=confidence) if plan.years > 1 else None,
        proof=seen,
        reason=_reason(plan, verdict, seen, (low, high), rule.target),
    )


def _proof_evidence(proof: Proof, confidence: float) -> ProofEvidence:
    return ProofEvidence(
        replications=len(proof.mets),
        met=sum(proof.mets),
        share_low=lower_limit(sum(proof.mets), len(proof.mets), proof.error),
        confidence=1.0 - proof.error,
        cost=mean_interval(proof.costs, confidence=confidence),
        proven=proof.outcome == "proven",
    )


def _verdict(search: CheapestSearch[Key], plan: Candidate, proof: Proof | None, chosen: Candidate | None) -> Verdict:
    if proof is not None and proof.outcome == "proven":
        return "holds"
    if plan.standing == "fails":
        return "fails"
    needless = chosen is not None and not search.could_be_cheaper(plan, chosen)
    return "not needed" if needless and plan.standing in ("open", "promising") else "undecided"


def _reason(
    plan: Candidate, verdict: Verdict, proof: ProofEvidence | None, limits: tuple[float, float], target: float
) -> str:
    if proof is not None:
        seen = f"met the standard in {proof.met} of {proof.replications} fresh years"
        outcome = "above" if proof.proven else "which does not prove more than"
        return f"{seen}; at least {_percent(proof.share_low)}, {outcome} {_percent(target)}"
    seen = f"met the standard in {plan.met} of {plan.years} years"
    if verdict == "fails":
        return f"{seen}; at most {_percent(limits[1])}, below {_percent(target)}"
    if verdict == "not needed":
        return (
            f"costs no less than the chosen plan; {seen}" if plan.years else "expected to cost no less; not simulated"
        )
    if plan.years == 0:
        return "not simulated before the search ended"
    return f"{seen}; between {_percent(limits[0])} and {_percent(limits[1])}, not told apart from {_percent(target)}"


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"
