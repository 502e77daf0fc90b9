"""Searches for the cheapest plan that surely holds: a few runs of some, more where they decide, then a proof."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import Generic, NamedTuple, TypeVar

import numpy as np

from simstore.statistics.plan_belief import MODEL_WORTH, Belief, Grid, Run, believed
from simstore.statistics.running_proof import Proof, is_proven

Key = TypeVar("Key", bound=Hashable)

NEARLY_GOOD = 0.9
"""A plan counts as good in a draw from so far between the target and what is asked as good."""
LOOKS = (2, 4, 8, 16, 32, 64, 128)
PILOT_PLANS = 6
PILOT_PART = 8
"""So many plans of each group are tried first, with no more than one part in so many of the budget."""
CHALLENGER_RUNS = 16
"""Cheaper plans that no draw finds good are tried all the same, the likeliest first, while nothing else is wanted."""
FRESH_FROM = 1_000_000
"""Number of the first replication of a proof; those of the search are below it."""
SEARCH_SHARE = 0.5
"""Most of the budget that may go before the proof begins."""
RUNGS = (0.99, 0.97, 0.945)
"""A ladder of proofs takes the cheapest plan that is believed to hold in so large a share of runs, one for each."""
RUNG_RUNS = 16
"""A plan is put on a ladder after so many runs in the search."""
SMALL_STEP = 0.004
PROOF_BLOCK = 8
HOPELESS = 0.05
"""A proof is given up when the chance that the plan is half-way from target to good, or better, falls below this."""
FIRST_LADDER = 0.8
"""Part of the error for the first ladder of proofs; the rest is for a second one on runs of its own."""


class Asked(NamedTuple):
    """What is asked of a search.

    Attributes
    ----------
    target : float
        A plan of which no more than this share of runs hold must not be chosen.
    good : float
        A plan of which this share holds is wanted if it is the cheapest; between the two anything may be said.
    error : float
        Chance that a plan is chosen that must not be.
    budget : int
        Most runs.
    tolerance : float
        Relative difference of cost that is not worth finding.
    window : int
        Plans advanced together. Part of what is asked, so that the number of workers does not change the answer.
    """

    target: float = 0.9
    good: float = 0.95
    error: float = 0.05
    budget: int = 600
    tolerance: float = 0.005
    window: int = 8


Evaluate = Callable[[Sequence[tuple[Key, int]]], Sequence[Run]]
"""Run plans on numbered replications; one number means the same luck for every plan."""


class HoldingSearch(Generic[Key]):
    """Search for the cheapest plan that holds in a good share of runs.

    Every plan keeps a chance until the end: what is believed of it follows from the plans like it that were run
    (`SmoothField`), with an error that says how little is known. Draws of all that is unknown tell which plan may
    be the cheapest good one, and the next runs go to the plans that win these draws. Then some of them are proven on
    fresh runs, in an order that is fixed before the first of these is seen: the surest first, then cheaper ones, each
    with the whole error, until one cannot be proven. The last one that is proven is the answer.

    References
    ----------
    .. [1] W. R. Thompson, "On the likelihood that one unknown probability exceeds another in view of the evidence of
       two samples", Biometrika 25 (1933) 285 (runs go where draws of the belief say that the best may be).
    .. [2] W. Maurer, L. A. Hothorn and W. Lehmacher, "Multiple comparisons in drug clinical trials and preclinical
       assays: a-priori ordered hypotheses", Biometrie in der chemisch-pharmazeutischen Industrie 6 (1995) 3
       (fixed-sequence tests; from memory, unverified).
    """

    def __init__(
        self,
        keys: Sequence[Key],
        grid: Grid,
        evaluate: Evaluate[Key],
        asked: Asked,
        *,
        fresh_from: int = FRESH_FROM,
    ) -> None:
        if not len(keys):
            msg = "a search needs at least one plan"
            raise ValueError(msg)
        if not 0.0 < asked.target < asked.good < 1.0:
            msg = f"need 0 < target < good < 1, got {asked.target:g} and {asked.good:g}"
            raise ValueError(msg)
        self.keys, self.grid, self.asked = list(keys), grid, asked
        self.seen: dict[int, list[Run]] = {}
        self.proofs: list[Proof] = []
        self.chosen: int | None = None
        self.fresh_from = fresh_from
        self._evaluate = evaluate
        self._luck = np.random.default_rng(20_230_509)
        self._belief: Belief | None = None

    @property
    def spent(self) -> int:
        """Runs so far."""
        return sum(map(len, self.seen.values())) + sum(len(proof.runs) for proof in self.proofs)

    @property
    def left(self) -> int:
        """Runs that the budget still allows."""
        return self.asked.budget - self.spent

    def run(self) -> int | None:
        """Search to the end; return the index of the chosen plan."""
        for _ in self.steps():
            pass
        return self.chosen

    def steps(self) -> Iterator[str]:
        """Search step by step, saying what was done; the best so far is in ``chosen`` at any time."""
        self._advance(self._pilot())
        yield "pilot"
        searching = int(SEARCH_SHARE * self.asked.budget)
        while self.spent < searching:
            moves = self._wanted()
            if not moves:
                break
            self._advance(moves, searching - self.spent)
            yield "search"
        parts = (FIRST_LADDER, 1.0 - FIRST_LADDER)
        for attempt, part in enumerate(parts):
            while unsure := [i for i in self._hoped() if len(self.seen.get(i, ())) < RUNG_RUNS][
                : self.left // RUNG_RUNS
            ]:
                self._advance(unsure)
                yield "search"
            ladder = self._ladder()
            first = self.fresh_from * (attempt + 1)
            for plan in ladder:
                proof = Proof(plan, first, self.asked.error * part)
                self.proofs.append(proof)
                while proof.outcome == "open":
                    self._look_on(proof)
                    yield "proof"
                if proof.outcome != "proven":
                    break
                self.chosen = plan
            if self.left <= PROOF_BLOCK:
                return
            if attempt + 1 < len(parts):
                more = self.spent + self.left // 3
                while self.spent < more and (moves := self._wanted()):
                    self._advance(moves, more - self.spent)
                    yield "search"

    # what to simulate

    def _pilot(self) -> list[int]:
        """Choose a few plans of every group that lie far from each other, from the middle of the group outwards."""
        chosen: list[int] = []
        most = max(2, min(PILOT_PLANS, self.asked.budget // (PILOT_PART * LOOKS[0] * len(np.unique(self.grid.groups)))))
        for group in np.unique(self.grid.groups):
            mine = np.flatnonzero(self.grid.groups == group)
            places = self.grid.places[mine]
            away = np.full(len(mine), np.inf)
            next_one = int(np.argmin(((places - places.mean(axis=0)) ** 2).sum(axis=1)))
            for _ in range(min(most, len(mine))):
                chosen.append(int(mine[next_one]))
                away = np.minimum(away, ((places - places[next_one]) ** 2).sum(axis=1))
                next_one = int(np.argmax(away))
        return chosen

    def _wanted(self) -> list[int]:
        """Plans to be run on, most wanted first."""
        belief = self.belief()
        order = sorted(np.flatnonzero(belief.best > 0.0).tolist(), key=lambda i: (-belief.best[i], belief.cost[i], i))
        aim = order[0]
        cheaper = np.flatnonzero((belief.cost < belief.cost[aim] * (1.0 - self.asked.tolerance)) & (belief.best == 0.0))
        cheaper = cheaper[np.argsort(-belief.share[cheaper], kind="stable")]
        order += [i for i in cheaper.tolist() if len(self.seen.get(i, ())) < CHALLENGER_RUNS]
        return [i for i in order if self._next(i) > len(self.seen.get(i, ()))][: self.asked.window]

    def _next(self, plan: int) -> int:
        runs = len(self.seen.get(plan, ()))
        return next((look for look in LOOKS if look > runs), runs)

    def _advance(self, plans: Sequence[int], most: int | None = None) -> None:
        wanted = [(i, r) for i in plans for r in range(len(self.seen.get(i, ())), self._next(i))]
        wanted = wanted[: max(self.left if most is None else min(most, self.left), 0)]
        for (i, _), run in zip(wanted, self._evaluate([(self.keys[i], r) for i, r in wanted]), strict=True):
            self.seen.setdefault(i, []).append(run)
        self._belief = None

    def belief(self) -> Belief:
        """Work out what is believed of every plan now."""
        if self._belief is None:
            target, good = self.asked.target, self.asked.good
            self._belief = believed(self.grid, self.seen, target + NEARLY_GOOD * (good - target), self._luck)
        return self._belief

    # the proof

    def _hoped(self) -> list[int]:
        """Plans that a ladder would take if all had been tried enough."""
        belief = self.belief()
        hoped = []
        for least in RUNGS:
            fit = np.flatnonzero(belief.share >= least)
            if fit.size:
                hoped.append(int(fit[np.argmin(belief.cost[fit])]))
        return list(dict.fromkeys(hoped))

    def _ladder(self) -> list[int]:
        """Plans to be proven, in this order: the surest first, then cheaper ones."""
        belief = self.belief()
        tried = {proof.plan for proof in self.proofs}
        plans = np.array([i for i in sorted(self.seen) if i not in tried], dtype=np.intp)
        limit = math.inf if self.chosen is None else belief.cost[self.chosen] * (1.0 - self.asked.tolerance)
        plans = plans[belief.cost[plans] < limit]
        if not plans.size:
            return []
        tried_enough = plans[[len(self.seen[i]) >= RUNG_RUNS for i in plans]]
        plans = tried_enough if tried_enough.size else plans
        rungs: list[int] = []
        for least in RUNGS:
            fit = plans[(belief.share[plans] >= least) & (belief.share_low[plans] >= 2.0 * least - 1.0)]
            if fit.size:
                rungs.append(int(fit[np.argmin(belief.cost[fit])]))
        aim = int(plans[np.argmax(belief.best[plans])])
        if self.chosen is None and not (rungs and belief.share[rungs[0]] >= RUNGS[0]):
            rungs.insert(0, int(min(plans, key=lambda i: (-round(float(belief.share_low[i]), 3), belief.cost[i]))))
        if not rungs or belief.cost[aim] < belief.cost[rungs[-1]]:
            rungs.append(aim)
        kept: list[int] = []
        for i in dict.fromkeys(rungs):
            if not kept or belief.cost[i] < belief.cost[kept[-1]] * (1.0 - SMALL_STEP):
                kept.append(i)
        return kept

    def _look_on(self, proof: Proof) -> None:
        """Give one plan some more fresh runs, and judge it by them."""
        count = min(PROOF_BLOCK, self.left)
        if count <= 0:
            proof.outcome = "unfinished"
            return
        first = proof.first + len(proof.runs)
        proof.runs += self._evaluate([(self.keys[proof.plan], first + n) for n in range(count)])
        from scipy.special import betainc

        target = self.asked.target
        if is_proven(proof.held, len(proof.runs), target, proof.error):
            proof.outcome = "proven"
            return
        believed = float(self.belief().share[proof.plan])
        a = proof.held + MODEL_WORTH * believed
        b = len(proof.runs) - proof.held + MODEL_WORTH * (1.0 - believed)
        if betainc(max(b, 1e-3), a, 0.5 * (2.0 - target - self.asked.good)) < HOPELESS:
            proof.outcome = "hopeless"
