"""Paired differences, joint statements and the number of replications, against print and exact laws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from simstore.statistics.intervals import (
    mean_interval,
    replications_for_half_width,
    simultaneous_intervals,
    t_quantile,
    variance_ratio,
)

# Source: Student (1908), hours of extra sleep with two drugs, as in R's data set "sleep"; the interval is R's printed
# output of the paired t test (de Vries & Meys, "R For Dummies", paired data).
SLEEP_FIRST = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SLEEP_SECOND = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]


def test_the_interval_of_paired_differences_agrees_with_r_on_students_sleep_data():
    interval = mean_interval(np.subtract(SLEEP_FIRST, SLEEP_SECOND))
    half = t_quantile(0.975, 9) * interval.sd / math.sqrt(10)

    assert interval.mean == pytest.approx(-1.58)
    assert (interval.mean - half, interval.mean + half) == pytest.approx((-2.4598858, -0.7001142), abs=5e-8)
    assert interval.decided
    # The longest differences are those below: putting the skewness right moves both limits towards them.
    assert interval.low < -2.4598858
    assert interval.high < -0.7001142


# Source: table of Student's t, upper 0.975 point, e.g. NIST/SEMATECH e-Handbook 1.3.6.7.2.
@pytest.mark.parametrize(("degrees", "printed"), [(1, 12.706), (4, 2.776), (9, 2.262), (29, 2.045), (100, 1.984)])
def test_t_quantiles_agree_with_the_printed_table(degrees, printed):
    assert t_quantile(0.975, degrees) == pytest.approx(printed, abs=5e-4)


def test_joint_intervals_are_those_of_bonferroni_over_plans_and_looks():
    rng = np.random.default_rng(2)
    differences = {name: rng.normal(size=30) for name in "abcde"}
    joint = simultaneous_intervals(differences, confidence=0.95, looks=4)

    assert joint["c"] == mean_interval(differences["c"], confidence=1 - 0.05 / 20)


def test_joint_intervals_cover_together_under_strong_dependence():
    rng = np.random.default_rng(3)
    runs, missed = 600, 0
    for _ in range(runs):
        shared = rng.normal(size=12)
        differences = {k: 0.9 * shared + 0.4 * rng.normal(size=12) for k in range(6)}
        missed += any(i.decided for i in simultaneous_intervals(differences).values())

    assert missed / runs <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / runs)


def test_a_single_interval_per_plan_misses_more_often_than_the_joint_ones_may():
    rng = np.random.default_rng(4)
    runs = 400
    missed = sum(any(mean_interval(rng.normal(size=12)).decided for _ in range(6)) for _ in range(runs))

    assert missed / runs > 0.05 + 3 * math.sqrt(0.05 * 0.95 / runs)


def test_variance_ratio_is_the_known_one_of_equally_correlated_plans():
    # Exact law: var(a) = var(b) = 1 and correlation r give (1 + 1) / (2 - 2 r) = 1 / (1 - r).
    rng = np.random.default_rng(5)
    for r in (0.0, 0.5, 0.9):
        a, b = rng.multivariate_normal([0, 0], [[1, r], [r, 1]], size=200_000).T

        assert variance_ratio(a, b) == pytest.approx(1 / (1 - r), rel=0.02)


def test_variance_ratio_is_infinite_if_plans_differ_by_a_constant():
    assert variance_ratio([1.0, 2.0, 3.0], [2.0, 3.0, 4.0]) == math.inf


@pytest.mark.parametrize(("sd", "half_width"), [(1.0, 0.5), (3.0, 0.2), (0.01, 5.0), (0.0, 1.0)])
def test_the_number_of_replications_is_the_least_that_is_narrow_enough(sd, half_width):
    n = replications_for_half_width(sd, half_width)

    assert t_quantile(0.975, n - 1) * sd / math.sqrt(n) <= half_width
    if n > 2:
        assert t_quantile(0.975, n - 2) * sd / math.sqrt(n - 1) > half_width


# By hand from the printed table of Student's t (NIST/SEMATECH e-Handbook 1.3.6.7.2), for a half-width of so many
# standard deviations: the least n with t(n - 1) / sqrt(n) within it.
# 0.5: t(16) 2.120 / sqrt(17) = 0.514, t(17) 2.110 / sqrt(18) = 0.497
# 1.0: t(5) 2.571 / sqrt(6) = 1.050, t(6) 2.447 / sqrt(7) = 0.925; t(6) / sqrt(6) = 0.999 would let six pass
# 1.3: t(4) 2.776 / sqrt(5) = 1.241, t(3) 3.182 / sqrt(4) = 1.591; t(4) / sqrt(4) = 1.388 is too wide as well
# 1.4: t(4) / sqrt(5) = 1.241; t(4) / sqrt(4) = 1.388 would let four pass
@pytest.mark.parametrize(("half_width", "needed"), [(0.5, 18), (1.0, 7), (1.3, 5), (1.4, 5)])
def test_the_replications_needed_are_those_of_the_printed_t_table(half_width, needed):
    assert replications_for_half_width(1.0, half_width) == needed


def test_never_fewer_replications_are_said_to_be_needed_than_the_least():
    assert replications_for_half_width(1.0, 0.5, least=25) == 25


def test_small_and_skewed_samples_carry_a_caution():
    rng = np.random.default_rng(6)

    assert "5 replications are" in mean_interval(rng.normal(size=5)).caution
    assert "skewed" in mean_interval(rng.lognormal(sigma=1.2, size=20)).caution
    assert mean_interval(rng.normal(size=200)).caution == ""


def test_values_without_spread_have_an_interval_without_width_and_say_what_it_may_hide():
    interval = mean_interval([0.1, 0.1, 0.1])

    assert (interval.low, interval.mean, interval.high) == (0.1, 0.1, 0.1)
    # 1 - 0.05^(1/3) = 63 %
    assert interval.caution == "no other value in 3 runs; up to 63 % of runs may give another"


def test_too_few_or_unequal_replications_are_refused():
    with pytest.raises(ValueError, match="at least two finite values"):
        mean_interval([1.0])
    with pytest.raises(ValueError, match="at least two finite values"):
        mean_interval([1.0, math.nan])
    with pytest.raises(ValueError, match="confidence must lie between"):
        mean_interval([1.0, 2.0], confidence=95)
    with pytest.raises(ValueError, match="equal rows"):
        variance_ratio([1.0, 2.0], [1.0])
    with pytest.raises(ValueError, match="at least two replications"):
        variance_ratio([1.0], [1.0])
    with pytest.raises(ValueError, match="looks must be at least 1"):
        simultaneous_intervals({"a": [1.0, 2.0]}, looks=0)
    with pytest.raises(ValueError, match="half_width must be above 0"):
        replications_for_half_width(1.0, 0.0)
