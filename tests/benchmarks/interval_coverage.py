"""Do the intervals cover the truth? Repeated studies of a store so small that the truth is known exactly.

Run ``python tests/benchmarks/interval_coverage.py [repetitions]``; it prints a table and ends with 1 if a promise is broken.

The store is invented: twelve enclosures, four quarters a year. In each quarter an enclosure may need an exchange, and in
each year it may go over its ceiling, both more often in a wet year; the year's wetness is shared by all enclosures. Given
the wetness all events are independent, so the true mean cost and the true share of good years follow from one integral.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np

from simstore.statistics.intervals import mean_interval, variance_ratio
from simstore.statistics.shares import share_limits

ENCLOSURES, QUARTERS, OVER_ALLOWED = 12, 4, 1


@dataclass(frozen=True)
class ToyPlan:
    """Costs in an invented currency; odds on the logit scale at mean wetness."""

    fixed_cost: float
    cost_per_exchange: float
    exchange_logit: float
    over_logit: float


BOXES = ToyPlan(fixed_cost=900.0, cost_per_exchange=30.0, exchange_logit=-0.5, over_logit=-4.0)
BAGS = ToyPlan(fixed_cost=1100.0, cost_per_exchange=22.0, exchange_logit=-0.8, over_logit=-4.4)


def chance(logit, wetness):
    """Chance of an event in a year of this wetness (standard normal)."""
    return 1.0 / (1.0 + np.exp(-(logit + 0.6 * wetness)))


def truth(plan):
    """Mean cost and share of good years, by Gauss-Hermite quadrature over the wetness."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(80)
    weights = weights / weights.sum()
    exchanges = ENCLOSURES * QUARTERS * (weights @ chance(plan.exchange_logit, nodes))
    over = chance(plan.over_logit, nodes)
    good = (1 - over) ** ENCLOSURES + ENCLOSURES * over * (1 - over) ** (ENCLOSURES - 1)
    return plan.fixed_cost + plan.cost_per_exchange * exchanges, weights @ good


def luck(shape, rng):
    """Wetness and the uniform numbers behind every event, shared by all plans."""
    return (
        rng.normal(size=(*shape, 1)),
        rng.random((*shape, ENCLOSURES * QUARTERS)),
        rng.random((*shape, ENCLOSURES)),
    )


def simulate(plan, drawn):
    """Cost and whether the year was good, one for each simulated year."""
    wetness, quarters, years = drawn
    exchanges = (quarters < chance(plan.exchange_logit, wetness)).sum(axis=-1)
    over = (years < chance(plan.over_logit, wetness)).sum(axis=-1)
    return plan.fixed_cost + plan.cost_per_exchange * exchanges, over <= OVER_ALLOWED


def coverage(repetitions, years, seed=20260303):
    """Share of repetitions in which each 95 % statement is true, and the variance ratio of common random numbers."""
    rng = np.random.default_rng([seed, years])
    drawn = luck((repetitions, years), rng)
    (boxes, good), (bags, _) = simulate(BOXES, drawn), simulate(BAGS, drawn)
    (box_cost, box_share), (bag_cost, _) = truth(BOXES), truth(BAGS)
    limits, lower = share_limits(good.sum(axis=1), years), share_limits(good.sum(axis=1), years, side="lower")
    means = [mean_interval(row) for row in boxes]
    pairs = [mean_interval(a - b) for a, b in zip(boxes, bags, strict=True)]
    return {
        "mean": float(np.mean([i.low <= box_cost <= i.high for i in means])),
        "difference": float(np.mean([i.low <= box_cost - bag_cost <= i.high for i in pairs])),
        "share": float(np.mean((limits.low <= box_share) & (box_share <= limits.high))),
        "share, lower limit": float(np.mean(lower.low <= box_share)),
        "variance ratio": variance_ratio(boxes.ravel(), bags.ravel()),
    }


def coverage_of_a_skewed_level(repetitions, years, seed=20260404):
    """Coverage of the one-sided 95 % lower bound of a level that piles up below 1: beta(20, 1), mean 20/21."""
    levels = np.random.default_rng([seed, years]).beta(20, 1, size=(repetitions, years))
    return float(np.mean([mean_interval(row, confidence=0.9).low <= 20 / 21 for row in levels]))


def broken_promises(found):
    """What a table of ``coverage`` breaks: means and differences 95 +- 2 %, shares never below 93 %."""
    broken = [f"{key} {found[key]:.3f}" for key in ("mean", "difference") if abs(found[key] - 0.95) > 0.02]
    return broken + [f"{key} {found[key]:.3f}" for key in ("share", "share, lower limit") if found[key] < 0.93]


def main(repetitions):
    """Print the table; return 1 if a promise is broken."""
    broken = []
    for years in (10, 30, 100):
        found = coverage(repetitions, years)
        broken += broken_promises(found)
        print(f"{years:4d} years: " + ", ".join(f"{key} {value:.3f}" for key, value in found.items()))
        print(f"            lower bound of a skewed level: {coverage_of_a_skewed_level(repetitions, years):.3f}")
    print("broken: " + "; ".join(broken) if broken else "all promises kept")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
