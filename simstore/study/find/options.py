"""What is asked of a search for the cheapest plan."""

from __future__ import annotations

from dataclasses import dataclass

from simstore.statistics.cheapest_holding import Asked

MARGINAL_REPLICATIONS = 12
LEAST_RUNS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class FindOptions:
    """What is asked of a search.

    A run is one store, with leaks of its own, over the whole horizon; it holds if every metal class meets its standard
    in every year of it.

    Attributes
    ----------
    target : float
        A plan of which no more than this share of runs hold must not be chosen.
    good : float
        A plan of which this share holds is wanted if it is the cheapest. Of those between nothing is promised: to tell
        0.93 from 0.9 would take a thousand runs.
    confidence : float
        Level at which the plan is proven to exceed the target.
    budget : int
        Most simulated years for search and proof.
    marginal_replications : int
        Runs for each row of the marginal table; 0 leaves it out.
    """

    target: float = 0.9
    good: float = 0.95
    confidence: float = 0.95
    budget: int = 4000
    marginal_replications: int = MARGINAL_REPLICATIONS

    def asked(self, horizon_years: int) -> Asked:
        """Say it in runs of ``horizon_years`` years; a target above ``good`` moves that half-way to certainty."""
        return Asked(
            target=self.target,
            good=self.good if self.good > self.target else 0.5 * (1.0 + self.target),
            error=1.0 - self.confidence,
            budget=max(LEAST_RUNS, self.budget // horizon_years),
        )
