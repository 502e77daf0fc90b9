"""The Pareto front of cost and held share: laws that define it, ties and tolerances."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.statistics.pareto import front_order, pareto_front


def test_a_small_front_is_as_seen_by_eye():
    front = pareto_front([1, 2, 3, 4, 2.5], [0.5, 0.9, 0.8, 0.95, 0.9])

    assert front.tolist() == [True, True, False, True, False]


def test_equal_plans_stay_side_by_side():
    assert pareto_front([1, 1, 2], [0.5, 0.5, 0.5]).tolist() == [True, True, False]


def test_a_difference_within_the_tolerance_beats_nobody():
    assert pareto_front([100, 100.4], [0.9, 0.9], cost_tolerance=0.5).tolist() == [True, True]
    assert pareto_front([100, 100.6], [0.9, 0.9], cost_tolerance=0.5).tolist() == [True, False]
    assert pareto_front([100, 100], [0.9, 0.89], held_tolerance=0.02).tolist() == [True, True]
    assert pareto_front([100, 100], [0.9, 0.87], held_tolerance=0.02).tolist() == [True, False]


def test_a_plan_with_a_missing_number_is_not_on_the_front():
    assert pareto_front([1, 2, math.nan], [math.nan, 0.5, 1.0]).tolist() == [False, True, False]


PLANS = st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=1, max_size=25)


@given(plans=PLANS)
def test_every_plan_is_on_the_front_or_beaten_by_one_that_is(plans):
    cost, held = np.array(plans, dtype=float).T
    front = pareto_front(cost, held)
    for i in range(len(plans)):
        beaten = (cost <= cost[i]) & (held >= held[i]) & ((cost < cost[i]) | (held > held[i]))

        assert front[i] == (not beaten.any())
        assert front[i] or (beaten & front).any()


@given(plans=PLANS, tolerance=st.floats(0, 3))
def test_a_tolerance_only_adds_plans_and_the_front_is_never_empty(plans, tolerance):
    cost, held = np.array(plans, dtype=float).T
    strict = pareto_front(cost, held)
    wide = pareto_front(cost, held, cost_tolerance=tolerance, held_tolerance=tolerance)

    assert strict.any()
    assert np.all(wide[strict])


@given(plans=PLANS)
def test_the_order_of_the_plans_does_not_matter(plans):
    cost, held = np.array(plans, dtype=float).T

    assert pareto_front(cost[::-1], held[::-1])[::-1].tolist() == pareto_front(cost, held).tolist()


def test_the_front_is_listed_from_the_cheapest():
    cost, held = [3, 1, 2, 1], [0.9, 0.5, 0.7, 0.5]

    assert front_order(cost, held, pareto_front(cost, held)).tolist() == [1, 3, 2, 0]


def test_unequal_rows_and_negative_tolerances_are_refused():
    with pytest.raises(ValueError, match="equal length"):
        pareto_front([1, 2], [0.5])
    with pytest.raises(ValueError, match="tolerances must be at least 0"):
        pareto_front([1], [0.5], cost_tolerance=-1)
