"""Intervals of means cover the truth as often as they say, for skewed values and few of them too."""

import math

import numpy as np
import pytest

from simstore.statistics.intervals import (
    difference_interval,
    mean_interval,
    skewness_of,
    t_quantile,
)
from simstore.statistics.rare_differences import most_unseen_pct, rarely_different

# Means of the distributions, in closed form: beta(20, 1) has 20/21; a lognormal exp(sigma^2 / 2).
LEVELS = {
    "normal": (lambda luck, shape: luck.standard_normal(shape), 0.0),
    "difference, heavy to both sides": (lambda luck, shape: luck.laplace(size=shape), 0.0),
    "held share, beta(20, 1)": (lambda luck, shape: luck.beta(20.0, 1.0, shape), 20.0 / 21.0),
    "cost, lognormal 0.5": (lambda luck, shape: np.exp(0.5 * luck.standard_normal(shape)), math.exp(0.125)),
}


@pytest.mark.parametrize("runs", [10, 20, 50])
@pytest.mark.parametrize("name", LEVELS)
def test_95_of_100_intervals_cover_the_mean(name, runs):
    draw, mean = LEVELS[name]
    rows = draw(np.random.default_rng(7), (2000, runs))
    found = [mean_interval(row) for row in rows]
    covered = np.mean([each.low <= mean <= each.high for each in found])

    assert covered == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize("runs", [10, 20, 50])
@pytest.mark.parametrize("share", [0.03, 0.08, 0.3, 0.6])
@pytest.mark.parametrize("sides", ["one", "both"])
def test_of_differences_that_are_mostly_zero_no_more_than_5_of_100_intervals_miss_the_mean(sides, share, runs):
    luck = np.random.default_rng(11)
    size = luck.exponential(size=(2000, runs))
    if sides == "both":
        size *= np.sign(luck.random(size.shape) - 0.5)
    rows = np.where(luck.random(size.shape) < share, size, 0.0)
    mean = share if sides == "one" else 0.0
    found = [difference_interval(row) for row in rows]

    missed = [not each.low <= mean <= each.high for each in found if each.rare_runs is None]

    assert sum(missed) / len(rows) <= 0.05 + 0.02
    # what is not told by an interval is told by its words
    assert all(each.caution.endswith("may give another") for each in found if each.rare_runs is not None)
    assert all(math.isnan(each.low) for each in found if each.rare_runs)


def test_what_no_run_shows_has_its_exact_limit():
    # rule of three, exactly: 1 - 0.05^(1/12) = 22.09 %
    assert most_unseen_pct(12) == pytest.approx(22.09, abs=0.005)


def test_students_interval_of_ten_held_shares_would_cover_too_seldom():
    rows = np.random.default_rng(7).beta(20.0, 1.0, (2000, 10))
    half = t_quantile(0.975, 9) * rows.std(axis=1, ddof=1) / math.sqrt(10)
    covered = np.mean(np.abs(rows.mean(axis=1) - 20.0 / 21.0) <= half)

    assert covered < 0.93, "this is why the interval is put right for skewness"


def test_without_skewness_the_interval_is_students():
    values = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    half = 2.776445 * math.sqrt(2.5 / 5)  # t(4, 0.975) of any printed table

    found = mean_interval(values)

    assert (found.low, found.high) == pytest.approx((-half, half), abs=1e-5)


def test_the_long_side_is_where_the_tail_is():
    found = mean_interval([1.0, 1.1, 0.9, 1.0, 5.0, 1.2])

    assert found.high - found.mean > found.mean - found.low


def test_the_skewness_is_that_of_scipy():
    from scipy.stats import skew

    values = np.random.default_rng(2).gamma(2.0, size=14)

    assert skewness_of(values) == pytest.approx(skew(values, bias=False), rel=1e-12)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        # 1 - 0.05^(1/12) = 22.1 %
        ([0.0] * 12, "no other value in 12 runs; up to 22 % of runs may give another"),
        # Clopper and Pearson, one-sided 95 %: 1 of 20 gives 21.6 % (any table of exact binomial limits)
        ([0.0] * 19 + [-0.3], "another value than 0 1 times in 20 runs; up to 22 % of runs may give another"),
        ([0.0, 1.0, 2.0, 3.0, 4.0], ""),
    ],
)
def test_of_rare_differences_it_is_said_how_often_they_may_be(values, said):
    assert rarely_different(np.array(values)) == said


def test_the_limit_on_rare_differences_holds_in_95_of_100_studies():
    luck = np.random.default_rng(3)
    limits = []
    for row in luck.random((1000, 12)) < 0.15:
        said = rarely_different(np.where(row, -1.0, 0.0))
        limits.append(float(said.split("up to ")[1].split(" %")[0]) if said else 100.0)

    assert np.mean(np.array(limits) >= 15.0) >= 0.95 - 0.02
