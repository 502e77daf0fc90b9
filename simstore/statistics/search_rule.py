"""How the search for the cheapest plan divides its error and when one plan's data decide about that plan."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simstore.statistics.shares import clear_years_needed, share_limits

Standing = Literal["open", "promising", "fails", "capped", "unproven"]
"""Where a plan stands in the search; only a proof on fresh years makes it hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchRule:
    """What is asked for and how the error is split.

    The total ``error`` bounds, by parts that add up to it, (a) the chance that the chosen plan does not hold in truth,
    (b) the chance that the cheapest plan that holds was thrown out as failing, (c) the chance that it was passed over
    as too dear. Part (b) concerns one plan, the unknown best, so it is split over looks but not over plans: a plan's
    "fails" is a statement about that plan alone, at the level of its limit. Part (c) is split over looks and over the
    plans that the best may be compared with.

    Attributes
    ----------
    target : float
        Share of years in which every metal class must meet its standard, between 0 and 1.
    error : float
        Total allowed error; 0.05 for a statement at 95 %.
    holding_part, failing_part : float
        Parts of the error for (a) and (b); the rest is for (c).
    first_look, cap : int
        Years after which a plan is first looked at, and the most years it gets in the search. Looks are at doubling
        years.
    nominate_error : float
        A plan is tried for proof when its one-sided lower limit at this error lies above the target. Saves or costs
        replications, but no validity.
    proof_cap : int
        Most fresh years for one proof.
    proof_tries : int
        Most proofs of one plan, each on more fresh years.
    proof_power : float
        Wanted chance that the proof of a plan as good as it looked succeeds.
    window : int
        Plans advanced together (for parallel work). Part of the rule, so that workers do not change the answer.
    cost_tolerance : float
        Relative cost difference not worth finding.
    cost_slack : float
        By how much, relatively, an expected cost may exceed the simulated one; plans beyond it are not simulated.
    fresh_from : int
        Number of the first replication used for proofs; the search uses 0..cap-1.
    budget : int or None
        Most simulated years in all, search and proofs.
    """

    target: float
    error: float = 0.05
    holding_part: float = 0.5
    failing_part: float = 0.3
    first_look: int = 4
    cap: int = 512
    nominate_error: float = 0.1
    proof_cap: int = 1024
    proof_tries: int = 3
    proof_power: float = 0.9
    window: int = 8
    cost_tolerance: float = 0.005
    cost_slack: float = 0.0
    fresh_from: int = 1_000_000
    budget: int | None = None

    def __post_init__(self) -> None:
        """Refuse a rule that cannot mean anything."""
        faults = [
            (0.0 < self.target < 1.0, "target must lie between 0 and 1"),
            (0.0 < self.error < 0.5, "error must lie between 0 and 0.5"),
            (0.0 < self.nominate_error < 1.0, "nominate_error must lie between 0 and 1"),
            (self.holding_part > 0.0 and self.failing_part > 0.0, "each part of the error must be above 0"),
            (self.holding_part + self.failing_part < 1.0, "the parts of the error leave nothing for the cost"),
            (2 <= self.first_look <= self.cap <= self.fresh_from, "need 2 <= first_look <= cap <= fresh_from"),
            (self.window >= 1 and self.proof_cap >= 1, "window and proof_cap must be at least 1"),
            (0.0 <= self.cost_tolerance < 1.0, "cost_tolerance must lie in 0..1"),
            (0.0 <= self.cost_slack < 1.0, "cost_slack must lie in 0..1"),
        ]
        broken = [text for good, text in faults if not good]
        if broken:
            msg = "search rule: " + "; ".join(broken)
            raise ValueError(msg)
        for name, most, error in (
            ("cap", self.cap, self.nominate_error),
            ("proof_cap", self.proof_cap, self.proof_error(0)),
        ):
            needed = clear_years_needed(self.target, confidence=1.0 - error)
            if most < needed:
                msg = (
                    f"search rule: {name} is {most}, but {needed} years without a miss are needed above {self.target:g}"
                )
                raise ValueError(msg)

    @property
    def cost_part(self) -> float:
        """Part of the error for (c)."""
        return 1.0 - self.holding_part - self.failing_part

    @property
    def looks(self) -> tuple[int, ...]:
        """Years at which a plan is looked at, doubling up to the cap."""
        years = [self.first_look]
        while years[-1] < self.cap:
            years.append(min(self.cap, 2 * years[-1]))
        return tuple(years)

    def spent_at(self, years: int) -> float:
        """Part of an error that may be spent at the look after ``years``; the parts of all looks add up to 1.

        The spending function is sqrt(years / cap), of the power family of Kim and DeMets.

        References
        ----------
        .. [1] K. K. G. Lan and D. L. DeMets, "Discrete sequential boundaries for clinical trials", Biometrika 70,
           1983, 659-663.
        .. [2] K. Kim and D. L. DeMets, "Design and analysis of group sequential tests based on the type I error
           spending rate function", Biometrika 74, 1987, 149-154.
        """
        earlier = [look for look in self.looks if look < years]
        return math.sqrt(years / self.cap) - (math.sqrt(earlier[-1] / self.cap) if earlier else 0.0)

    def failing_error(self, years: int) -> float:
        """One-sided error of the limit that may throw a plan out after ``years``."""
        return self.error * self.failing_part * self.spent_at(years)

    def cost_error(self, years: int) -> float:
        """One-sided error of the limit that may pass a plan over as too dear after ``years`` in common."""
        return self.error * self.cost_part * self.spent_at(years)

    def proof_error(self, attempt: int) -> float:
        """One-sided error of proof number ``attempt``, counted from 0: 2/3, 2/9, 2/27 ... of the part for holding."""
        return self.error * self.holding_part * (2.0 / 3.0) * 3.0**-attempt


@lru_cache(maxsize=65536)
def lower_limit(met: int, years: int, error: float) -> float:
    """One-sided Clopper-Pearson lower limit at ``error``; 0 without data."""
    return float(share_limits(met, years, confidence=1.0 - error, side="lower").low) if years else 0.0


@lru_cache(maxsize=65536)
def upper_limit(met: int, years: int, error: float) -> float:
    """One-sided Clopper-Pearson upper limit at ``error``; 1 without data."""
    return float(share_limits(met, years, confidence=1.0 - error, side="upper").high) if years else 1.0


@dataclass(slots=True)
class Candidate:
    """One plan in the search: what was expected, what was seen, and where it stands.

    Attributes
    ----------
    expected_cost : float
        Cost before any simulation, in the unit of the simulated costs.
    promise : float or None
        Share of years expected to meet the standard, from a coarse model; decides the order only.
    costs : list of float
        Simulated cost of replications 0, 1, 2 ...
    mets : list of bool
        Whether every class met its standard, replication by replication.
    standing : Standing
        Decided at the looks, never between them.
    """

    expected_cost: float
    promise: float | None = None
    costs: list[float] = field(default_factory=list)
    mets: list[bool] = field(default_factory=list)
    standing: Standing = "open"

    @property
    def years(self) -> int:
        """Simulated years so far."""
        return len(self.mets)

    @property
    def met(self) -> int:
        """Years that met the standard."""
        return sum(self.mets)

    @property
    def cost(self) -> float:
        """Mean simulated cost, or the expected one before any simulation."""
        return math.fsum(self.costs) / len(self.costs) if self.costs else self.expected_cost

    def next_look(self, rule: SearchRule) -> int:
        """Years at the next look; the years so far if the cap is reached."""
        return next((look for look in rule.looks if look > self.years), self.years)

    def see(self, costs: ArrayLike, mets: ArrayLike, rule: SearchRule) -> None:
        """Add replications up to the next look and decide."""
        self.costs += [float(c) for c in np.asarray(costs, dtype=np.float64)]
        self.mets += [bool(m) for m in np.asarray(mets, dtype=np.bool_)]
        if upper_limit(self.met, self.years, rule.failing_error(self.years)) < rule.target:
            self.standing = "fails"
        elif self.standing == "open":
            if lower_limit(self.met, self.years, rule.nominate_error) > rule.target:
                self.standing = "promising"
            elif self.years >= rule.cap:
                self.standing = "capped"


def least_difference(plan: Candidate, other: Candidate, error: float) -> float:
    """One-sided t limit below the mean of ``plan``'s cost minus ``other``'s, over their common replications.

    Minus infinity with fewer than two of them.
    """
    from simstore.statistics.intervals import mean_interval

    common = min(plan.years, other.years)
    if common < 2:
        return -math.inf
    difference: NDArray[np.float64] = np.subtract(plan.costs[:common], other.costs[:common])
    return mean_interval(difference, confidence=1.0 - 2.0 * error).low
