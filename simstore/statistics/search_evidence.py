"""What a search for the cheapest plan that holds found: a verdict for every plan, with its evidence and its reason."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

import numpy as np

from simstore.statistics.cheapest_holding import Asked, HoldingSearch
from simstore.statistics.intervals import MeanInterval, mean_interval
from simstore.statistics.plan_belief import Belief
from simstore.statistics.running_proof import Proof, share_proven

Key = TypeVar("Key", bound=Hashable)
Verdict = Literal["holds", "fails", "undecided", "not needed"]
PERHAPS = 0.02
"""A plan is named as perhaps cheaper if it is the cheapest good one in so many draws of what is not known."""
PERHAPS_HOLDS = 0.05
"""A plan whose believed share, put at its best in nine draws of ten, is so far below the target is said to fail."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofEvidence:
    """A plan on fresh runs, which the search that chose it has never seen.

    Attributes
    ----------
    replications, met : int
        Fresh runs, and those that held.
    share_low : float
        It is proven that more than this share holds; valid however often one looked.
    confidence : float
        Level of ``share_low``.
    cost : MeanInterval
        Cost on the fresh runs, two-sided at one minus the total error.
    proven : bool
        Whether ``share_low`` reached the target.
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
        ``holds`` only if proven on fresh runs; ``not needed`` if it is believed to cost no less than the chosen plan.
    replications, met : int
        Runs in the search, and those that held.
    share_low, share_high : float
        One-sided limits from the plan's own runs, each at ``confidence``, valid at every look; 0 and 1 without runs.
    confidence : float
        Level of each of the two limits.
    believed_cost, believed_share : float
        What is believed of the plan in the end, from its own runs, those of plans like it, and the coarse model.
    cost : MeanInterval or None
        Cost in the search; None with fewer than two runs.
    proof : ProofEvidence or None
        Its fresh runs, if it was tried for proof.
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
    believed_cost: float
    believed_share: float
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
        Every candidate, in the order of believed cost.
    alike : tuple of hashable
        Simulated plans that may hold and whose cost cannot be told from the chosen one's.
    next_cheaper, runner_up : hashable or None
        The dearest simulated plan that is cheaper than the chosen one, whatever its verdict; the cheapest other plan
        that is believed to hold as well as is asked.
    undecided_cheaper : tuple of hashable
        Plans that may be cheaper and hold: the choice is the cheapest *proven* plan only.
    could_save : float
        By how much, relatively, the cheapest of these is believed to undercut the chosen plan; 0 if there is none.
    spent : int
        Runs in all.
    asked : Asked
        What was asked.
    """

    chosen: Key | None
    evidence: dict[Key, Evidence[Key]]
    alike: tuple[Key, ...]
    next_cheaper: Key | None
    runner_up: Key | None
    undecided_cheaper: tuple[Key, ...]
    could_save: float
    spent: int
    asked: Asked


def finding_of(search: HoldingSearch[Key]) -> Finding[Key]:
    """Sum up ``search``, finished or not."""
    belief, chosen = search.belief(), search.chosen
    order = sorted(range(len(search.keys)), key=lambda i: (belief.cost[i], i))
    evidence = {search.keys[i]: _evidence(search, i, belief) for i in order}
    others = [i for i in order if i != chosen]
    simulated = [i for i in others if len(search.seen.get(i, ())) > 1]
    limit = np.inf if chosen is None else belief.cost[chosen]
    cheaper = [i for i in simulated if belief.cost[i] < limit]
    perhaps = [
        i
        for i in others
        if chosen is not None
        and evidence[search.keys[i]].verdict == "undecided"
        and belief.best[i] >= PERHAPS
        and belief.cost[i] < limit * (1.0 - search.asked.tolerance)
    ]
    may_hold = [i for i in simulated if evidence[search.keys[i]].verdict != "fails"]
    good = [i for i in may_hold if belief.share[i] >= search.asked.good]
    alike = [
        i
        for i in may_hold
        if chosen is not None
        and belief.share[i] > search.asked.target
        and abs(belief.cost[i] - limit) <= search.asked.tolerance * limit
    ]
    return Finding(
        chosen=None if chosen is None else search.keys[chosen],
        evidence=evidence,
        alike=tuple(search.keys[i] for i in alike),
        next_cheaper=search.keys[cheaper[-1]] if cheaper and chosen is not None else None,
        runner_up=search.keys[good[0]] if good else None,
        undecided_cheaper=tuple(search.keys[i] for i in perhaps),
        could_save=float(1.0 - belief.cost[perhaps[0]] / limit) if perhaps else 0.0,
        spent=search.spent,
        asked=search.asked,
    )


def _evidence(search: HoldingSearch[Key], i: int, belief: Belief) -> Evidence[Key]:
    runs, asked = search.seen.get(i, []), search.asked
    held = sum(run.score >= 0.0 for run in runs)
    proof = next((p for p in reversed(search.proofs) if p.plan == i), None)
    seen = None if proof is None or not proof.runs else _proof_evidence(proof, 1.0 - asked.error)
    low = share_proven(held, len(runs), asked.error)
    high = 1.0 - share_proven(len(runs) - held, len(runs), asked.error)
    verdict = _verdict(search, i, belief, proof, high)
    return Evidence(
        key=search.keys[i],
        verdict=verdict,
        replications=len(runs),
        met=held,
        share_low=low,
        share_high=high,
        confidence=1.0 - asked.error,
        believed_cost=float(belief.cost[i]),
        believed_share=float(belief.share[i]),
        cost=mean_interval([run.cost for run in runs], confidence=1.0 - asked.error) if len(runs) > 1 else None,
        proof=seen,
        reason=_reason(verdict, seen, (held, len(runs)), float(belief.share[i]), asked),
    )


def _proof_evidence(proof: Proof, confidence: float) -> ProofEvidence:
    costs = [run.cost for run in proof.runs]
    return ProofEvidence(
        replications=len(proof.runs),
        met=proof.held,
        share_low=proof.share_proven,
        confidence=1.0 - proof.error,
        cost=mean_interval(costs if len(costs) > 1 else costs * 2, confidence=confidence),
        proven=proof.outcome == "proven",
    )


def _verdict(search: HoldingSearch[Key], i: int, belief: Belief, proof: Proof | None, high: float) -> Verdict:
    if proof is not None and proof.outcome == "proven":
        return "holds"
    if high < search.asked.target:
        return "fails"
    chosen = search.chosen
    if chosen is not None and belief.cost[i] >= belief.cost[chosen] * (1.0 - search.asked.tolerance):
        return "not needed"
    return "fails" if belief.share_high[i] < search.asked.target - PERHAPS_HOLDS else "undecided"


def _reason(verdict: Verdict, proof: ProofEvidence | None, seen: tuple[int, int], share: float, asked: Asked) -> str:
    held, runs = seen
    target = _percent(asked.target)
    if proof is not None:
        words = f"kept every standard in {proof.met} of {proof.replications} fresh runs"
        low = _percent(proof.share_low)
        if proof.proven:
            return f"{words}; more than {target} is proven"
        return f"{words}; more than {low} is proven, which is not enough" if proof.share_low > 0.0 else words
    words = f"kept every standard in {held} of {runs} runs" if runs else "not simulated"
    believed = f"believed to keep them in {_percent(share)}"
    if verdict == "not needed":
        return f"believed to cost no less than the chosen plan; {words}"
    if verdict == "fails":
        return f"{words}; {believed}, below {target}"
    return f"{words}; {believed}, and not proven"


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"
