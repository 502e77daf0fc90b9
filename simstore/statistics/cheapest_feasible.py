"""The cheapest plan that keeps its promise: cheap plans thrown out early, the winner proven on fresh years."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Generic, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from simstore.errors import SimstoreError
from simstore.statistics.search_rule import Candidate, SearchRule, least_difference, lower_limit, upper_limit
from simstore.statistics.shares import clear_years_needed, years_to_prove

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What simulated years of one plan gave.

    Attributes
    ----------
    cost : ndarray, shape (replications,)
        Cost of each year, in any one unit.
    met : ndarray of bool, shape (replications,)
        Whether every metal class met its standard in that year.
    """

    cost: NDArray[np.float64]
    met: NDArray[np.bool_]


ProofOutcome = Literal["proven", "fails", "again", "unproven"]
Evaluate = Callable[[list[Key], range], Mapping[Key, Outcome]]
"""Simulate the plans on the given replications; the same replication number must mean the same luck for every plan."""


@dataclass(slots=True)
class Proof:
    """One attempt to prove a plan on fresh years that no other decision has seen.

    Attributes
    ----------
    plan : int
        Index of the plan.
    first : int
        Number of the first replication.
    error : float
        One-sided error of the attempt.
    costs, mets : list
        What was seen.
    outcome : ProofOutcome
        ``proven`` if the lower limit lies above the target, ``again`` if the plan may be tried on more years.
    """

    plan: int
    first: int
    error: float
    costs: list[float]
    mets: list[bool]
    outcome: ProofOutcome


class CheapestSearch(Generic[Key]):
    """Search for the cheapest plan whose share of good years exceeds a target.

    Plans are advanced in the order of cost (or of promise, if a coarse model gives one), all on the same replications.
    At each look a plan is thrown out if its exact upper limit lies below the target, or becomes promising if its lower
    limit lies above it. Only plans that could still be cheaper than the cheapest promising one go on. The cheapest
    promising plan is then proven by an exact test on fresh years, whose number is fixed beforehand from what was seen.
    If that fails but the record still looks good, it is tried again on more fresh years and with less error; else it
    stays undecided and the search goes on. Nothing undecided is ever chosen.

    Because every proof uses years that nothing before has seen, a plan that does not hold is chosen with probability at
    most the holding part of the error, however the plans were searched and however their luck is correlated.

    Parameters
    ----------
    expected_costs : mapping of key to float
        The candidates, each with the cost expected before simulation.
    evaluate : callable
        Simulates plans on replications; see ``Evaluate``.
    rule : SearchRule
        Target, errors, looks, budget.
    promise : mapping of key to float, optional
        Expected share of good years from a coarse model. Decides only who goes first.
    state : dict, optional
        What ``state()`` gave in an interrupted search over the same candidates under the same rule; the budget may
        differ.
    save : callable, optional
        Called with ``state()`` after every evaluation.

    References
    ----------
    .. [1] S. Andradottir and S.-H. Kim, "Fully sequential procedures for comparing constrained systems via
       simulation", Naval Research Logistics 57, 2010, 403-421 (feasibility and optimality with a split error).
    .. [2] C. Healey, S. Andradottir and S.-H. Kim, "Selection procedures for simulations with multiple constraints
       under independent and correlated sampling", ACM Trans. Model. Comput. Simul. 24, 2014, article 14.
    .. [3] D. Batur and S.-H. Kim, "Finding feasible systems in the presence of constraints on multiple performance
       measures", ACM Trans. Model. Comput. Simul. 20, 2010, article 13.

    Notes
    -----
    The procedure is this project's own arrangement of their idea for yes-or-no years: exact binomial limits take the
    place of normal ones. The limits at the looks are joined by Bonferroni, so they are on the safe side.
    """

    def __init__(
        self,
        expected_costs: Mapping[Key, float],
        evaluate: Evaluate[Key],
        rule: SearchRule,
        *,
        promise: Mapping[Key, float] | None = None,
        state: dict[str, Any] | None = None,
        save: Callable[[dict[str, Any]], None] | None = None,
    ) -> None:
        if not expected_costs:
            msg = "a search needs at least one candidate plan"
            raise ValueError(msg)
        self.rule = rule
        self.keys: list[Key] = list(expected_costs)
        self.plans = [
            Candidate(float(expected_costs[k]), None if promise is None else float(promise[k])) for k in self.keys
        ]
        self.proofs: list[Proof] = []
        self._evaluate, self._save = evaluate, save
        if state is not None:
            self._restore(state)

    @property
    def spent(self) -> int:
        """Simulated years so far, search and proofs."""
        return sum(p.years for p in self.plans) + sum(len(p.mets) for p in self.proofs)

    @property
    def winner(self) -> int | None:
        """Index of the proven plan, if there is one."""
        return next((proof.plan for proof in self.proofs if proof.outcome == "proven"), None)

    def run(self) -> int | None:
        """Search until a plan is proven, nothing is left, or the budget is used up; return the winner's index."""
        for _ in self.steps():
            pass
        return self.winner

    def steps(self) -> Iterator[int]:
        """Search step by step, giving the years spent after each; can be left at any step and resumed."""
        while self.winner is None:
            best = self.cheapest_promising()
            moves = self._affordable(self._wanted(best), best)
            if moves:
                self._advance(moves)
            elif best is None or not self._prove(best):
                return
            yield self.spent

    def cheapest_promising(self) -> int | None:
        """Index of the promising plan of least mean cost; ties go to the first."""
        promising = [i for i, plan in enumerate(self.plans) if plan.standing == "promising"]
        return min(promising, key=lambda i: self.plans[i].cost, default=None)

    def could_be_cheaper(self, plan: Candidate, than: Candidate) -> bool:
        """Whether ``plan`` may still cost less than ``than`` by more than the tolerance."""
        worth = self.rule.cost_tolerance * abs(than.cost)
        if plan.years == 0:
            return plan.expected_cost * (1.0 - self.rule.cost_slack) < than.cost - worth
        return least_difference(plan, than, self.cost_error(plan, than)) < -worth

    def cost_error(self, plan: Candidate, than: Candidate) -> float:
        """One-sided error of one comparison of cost: split over looks and over all plans to compare with."""
        return self.rule.cost_error(min(plan.years, than.years)) / max(1, len(self.plans) - 1)

    def state(self) -> dict[str, Any]:
        """Everything seen so far, as plain lists, numbers and words; fit for JSON."""
        return {
            "version": 1,
            "rule": asdict(self.rule),
            "expected_costs": [p.expected_cost for p in self.plans],
            "seen": [{"costs": list(p.costs), "mets": list(p.mets)} for p in self.plans],
            "proofs": [asdict(p) for p in self.proofs],
        }

    def _restore(self, state: dict[str, Any]) -> None:
        mine = self.state()
        rules = [{k: v for k, v in s["rule"].items() if k != "budget"} for s in (mine, state)]
        same = rules[0] == rules[1] and mine["expected_costs"] == state["expected_costs"]
        if state["version"] != mine["version"] or not same:
            msg = "the interrupted search was made for other plans or under another rule; start it anew"
            raise SimstoreError(msg)
        for plan, seen in zip(self.plans, state["seen"], strict=True):
            while plan.years < len(seen["mets"]):
                window = slice(plan.years, plan.next_look(self.rule))
                plan.see(seen["costs"][window], seen["mets"][window], self.rule)
        for kept in state["proofs"]:
            self._accept(Proof(**kept))

    def _wanted(self, best: int | None) -> list[int]:
        """Plans worth another look, in the order of need; empty if the cheapest promising one may be proven."""
        still = [i for i, p in enumerate(self.plans) if p.standing == "open"]
        if best is None:
            return sorted(still, key=self._order)[: self.rule.window]
        leader = self.plans[best]
        wanted = sorted((i for i in still if self.could_be_cheaper(self.plans[i], leader)), key=self._order)
        if wanted:
            return wanted[: self.rule.window]
        rivals = [
            i
            for i, p in enumerate(self.plans)
            if p.standing == "promising" and i != best and self.could_be_cheaper(p, leader)
        ]
        least = min((self.plans[i].years for i in [best, *rivals]), default=self.rule.cap) if rivals else self.rule.cap
        return [i for i in [best, *rivals] if self.plans[i].years == least < self.rule.cap][: self.rule.window]

    def _order(self, i: int) -> tuple[float, float, int]:
        plan = self.plans[i]
        if plan.promise is None:
            return (0.0, plan.cost, i)
        expected_to_hold = plan.promise >= self.rule.target
        return (0.0, plan.cost, i) if expected_to_hold else (1.0, -plan.promise, i)

    def _affordable(self, wanted: list[int], best: int | None) -> list[int]:
        """As many of the wanted plans as the budget allows, keeping back what the proof will need."""
        if self.rule.budget is None:
            return wanted
        left = self.rule.budget - self.spent - (0 if best is None else self._proof_years(best))
        out = []
        for i in wanted:
            left -= self.plans[i].next_look(self.rule) - self.plans[i].years
            if left < 0:
                break
            out.append(i)
        return out

    def _advance(self, moves: list[int]) -> None:
        for years in sorted({self.plans[i].years for i in moves}):
            group = [i for i in moves if self.plans[i].years == years]
            outcomes = self._simulate(group, range(years, self.plans[group[0]].next_look(self.rule)))
            for i in group:
                self.plans[i].see(outcomes[i].cost, outcomes[i].met, self.rule)
            self._keep()

    def _proof_years(self, i: int) -> int:
        error, (met, years) = self.rule.proof_error(len(self.proofs)), self._record(i)
        looks_like = (met + 0.5) / (years + 1.0)  # a clear record is not taken for certainty
        return years_to_prove(
            looks_like,
            self.rule.target,
            confidence=1.0 - error,
            power=self.rule.proof_power,
            most=self.rule.proof_cap,
        )

    def _record(self, i: int) -> tuple[int, int]:
        """Years that met the standard and years in all of plan ``i``, search and failed proofs together."""
        tried = [p.mets for p in self.proofs if p.plan == i]
        plan = self.plans[i]
        return plan.met + sum(map(sum, tried)), plan.years + sum(map(len, tried))

    def _prove(self, i: int) -> bool:
        """Try to prove plan ``i`` on fresh years; False if budget or cap leave too few of them for any proof."""
        error, years = self.rule.proof_error(len(self.proofs)), self._proof_years(i)
        if self.rule.budget is not None:
            years = min(years, self.rule.budget - self.spent)
        if years < clear_years_needed(self.rule.target, confidence=1.0 - error):
            return False
        first = self.rule.fresh_from + sum(len(p.mets) for p in self.proofs)
        seen = self._simulate([i], range(first, first + years))[i]
        costs, mets = [float(c) for c in seen.cost], [bool(m) for m in seen.met]
        outcome = self._outcome(i, sum(mets), years, error)
        self._accept(Proof(plan=i, first=first, error=error, costs=costs, mets=mets, outcome=outcome))
        self._keep()
        return True

    def _accept(self, proof: Proof) -> None:
        self.proofs.append(proof)
        if proof.outcome in ("fails", "unproven"):
            self.plans[proof.plan].standing = proof.outcome

    def _outcome(self, i: int, met: int, years: int, error: float) -> ProofOutcome:
        """Judge a try on fresh years of plan ``i``; earlier tries count in its record."""
        rule = self.rule
        if lower_limit(met, years, error) > rule.target:
            return "proven"
        if upper_limit(met, years, rule.error * rule.failing_part) < rule.target:
            return "fails"
        met_before, years_before = self._record(i)
        promising = lower_limit(met_before + met, years_before + years, rule.nominate_error) > rule.target
        tries = 1 + sum(p.plan == i for p in self.proofs)
        return "again" if promising and tries < rule.proof_tries and years < rule.proof_cap else "unproven"

    def _simulate(self, group: list[int], replications: range) -> dict[int, Outcome]:
        got = self._evaluate([self.keys[i] for i in group], replications)
        outcomes = {i: got[self.keys[i]] for i in group}
        for i, outcome in outcomes.items():
            shape = (len(replications),)
            if (
                np.shape(outcome.cost) != shape
                or np.shape(outcome.met) != shape
                or not np.all(np.isfinite(outcome.cost))
            ):
                msg = f"evaluate must give {shape[0]} finite costs and as many met flags for plan {self.keys[i]!r}"
                raise ValueError(msg)
        return outcomes

    def _keep(self) -> None:
        if self._save is not None:
            self._save(self.state())
