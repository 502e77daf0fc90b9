"""Intervals against an independent library and printed figures."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from simstore.statistics.estimate import mean_interval, share_interval


@settings(deadline=None)
@given(values=st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=40), level=st.sampled_from([0.8, 0.95, 0.99]))
def test_the_interval_of_values_without_skewness_agrees_with_scipy_stats(values, level):
    middle = sum(values) / len(values)
    values = [*values, *(2.0 * middle - value for value in values)]  # mirrored
    found = mean_interval(values, level)
    error = stats.sem(values)

    # Source: scipy.stats.t.interval, a general reference library.
    low, high = (
        stats.t.interval(level, len(values) - 1, loc=sum(values) / len(values), scale=error)
        if error
        else (values[0],) * 2
    )
    assert found.low == pytest.approx(low, rel=1e-6, abs=1e-5)
    assert found.high == pytest.approx(high, rel=1e-6, abs=1e-5)


@settings(deadline=None)
@given(trials=st.integers(1, 200), data=st.data())
def test_share_interval_agrees_with_scipy_stats(trials, data):
    successes = data.draw(st.integers(0, trials))
    found = share_interval(successes, trials)

    # Source: scipy.stats.binomtest(...).proportion_ci(method="exact").
    expected = stats.binomtest(successes, trials).proportion_ci(0.95, method="exact")
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_twenty_met_years_of_twenty_leave_one_in_six_open():
    # All of n: the exact lower bound solves p^n = 2.5 %, so p = 0.025^(1/20) (closed form).
    assert share_interval(20, 20).low == pytest.approx(0.025 ** (1 / 20), rel=1e-12)
    assert share_interval(20, 20).high == 1.0
    assert share_interval(0, 20).low == 0.0


def test_one_value_has_a_mean_and_no_interval():
    found = mean_interval([3.0])

    assert found.mean == 3.0
    assert math.isnan(found.low)
    assert math.isnan(found.high)


def test_values_that_are_not_numbers_are_left_out():
    assert mean_interval([1.0, math.nan, 3.0]).mean == 2.0
    assert math.isnan(mean_interval([math.nan]).mean)


@pytest.mark.parametrize(("successes", "trials"), [(-1, 5), (6, 5), (0, 0)])
def test_impossible_counts_are_refused(successes, trials):
    with pytest.raises(ValueError, match=r"successes must lie in 0\.\.trials"):
        share_interval(successes, trials)


def test_a_level_outside_0_to_1_is_refused():
    with pytest.raises(ValueError, match="level must lie between 0 and 1"):
        mean_interval([1.0, 2.0], level=95)
