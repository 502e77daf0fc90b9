"""What is asked of a search for the cheapest plan."""

from __future__ import annotations

from dataclasses import dataclass

from simstore.statistics.search_rule import SearchRule
from simstore.statistics.shares import clear_years_needed

MARGINAL_REPLICATIONS = 12


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
        Most simulated years for search and proof; the years of up to three proofs more where nothing is proven by then.
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
            nominate_error=error,
            proof_cap=max(128, 4 * needed),
            proof_power=0.8,
            window=2,
            cost_tolerance=0.005,
            cost_slack=0.01,
            budget=self.budget if budget is None else budget,
        )
