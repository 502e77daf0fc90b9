"""Exact limits for the share of years that keep the promise, against print and by exact summation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, binomtest

from simstore.statistics.shares import share_limits

# Source: R documentation of binom.test, example after Conover (1971), p. 97 f. (682 of 925), as printed by R;
# the rows of 8 in 10 are printed in the public file sintervals/clopper_pearson.py (repository doomsuckle/sintervals).
PRINTED_TWO_SIDED = [
    (682, 925, 0.95, 0.7076683, 0.7654066),
    (8, 10, 0.99, 0.35180, 0.98915),
    (8, 10, 0.95, 0.44390, 0.97479),
    (8, 10, 0.90, 0.49310, 0.96323),
]


@pytest.mark.parametrize(("met", "years", "confidence", "low", "high"), PRINTED_TWO_SIDED)
def test_two_sided_limits_agree_with_print(met, years, confidence, low, high):
    limits = share_limits(met, years, confidence=confidence)

    assert float(limits.low) == pytest.approx(low, abs=5e-6)
    assert float(limits.high) == pytest.approx(high, abs=5e-6)


def test_one_sided_lower_limit_of_three_in_four_agrees_with_r():
    # Source: R output of binom.test(3, 4, alternative = "greater"), lower limit 0.2486046 (public teaching page).
    assert float(share_limits(3, 4, side="lower").low) == pytest.approx(0.2486046, abs=5e-8)


@pytest.mark.parametrize("years", [1, 4, 10, 30, 59, 200])
@pytest.mark.parametrize("side", ["two", "lower", "upper"])
def test_coverage_is_never_below_nominal_by_exact_summation(years, side):
    met = np.arange(years + 1)
    limits = share_limits(met, years, side=side)
    share = np.linspace(0.001, 0.999, 999)[:, None]
    covered = (limits.low <= share) & (share <= limits.high)
    coverage = (binom.pmf(met, years, share) * covered).sum(axis=1)

    assert coverage.min() >= 0.95 - 1e-12


def test_limits_agree_with_a_second_implementation_everywhere():
    for years in (1, 7, 40):
        for met in range(years + 1):
            for side, alternative in (("two", "two-sided"), ("lower", "greater"), ("upper", "less")):
                second = binomtest(met, years, alternative=alternative).proportion_ci(0.95, method="exact")
                limits = share_limits(met, years, side=side)

                assert (float(limits.low), float(limits.high)) == pytest.approx((second.low, second.high), abs=1e-9)


def test_limits_keep_the_shape_of_the_counts():
    limits = share_limits([[0, 1], [2, 3]], 3)

    assert limits.low.shape == limits.high.shape == (2, 2)
    assert limits.low[0, 0] == 0.0
    assert limits.high[1, 1] == 1.0


@pytest.mark.parametrize(
    ("met", "years", "confidence", "message"),
    [
        (4, 3, 0.95, "must lie in 0..years"),
        (-1, 3, 0.95, "must lie in 0..years"),
        (0, 0, 0.95, "at least 1"),
        (1.5, 3, 0.95, "whole numbers"),
        (1, 3, 1.0, "confidence must lie between"),
    ],
)
def test_impossible_counts_are_refused(met, years, confidence, message):
    with pytest.raises(ValueError, match=message):
        share_limits(met, years, confidence=confidence)
