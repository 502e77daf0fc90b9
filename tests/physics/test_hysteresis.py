"""Two branches and scanning between them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.sorption import NARROW_PORE_GEL, Branches, DubininAstakhov, Tabulated

# Source: Thu et al., Appl. Therm. Eng. 50 (2013) 1596, type RD at 25 degC, digitised (desorption at 10 %RH is not given;
# the loop is closed there, so the adsorption value stands for it).
RH = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8]
UP = [0.078, 0.128, 0.186, 0.244, 0.293, 0.321, 0.347]
DOWN = [0.078, 0.147, 0.208, 0.305, 0.321, 0.333, 0.354]
LOOP = Branches(Tabulated(25.0, RH, UP), Tabulated(25.0, RH, DOWN))

BRANCH = st.floats(0.0, 1.0)


# Source: Thu et al. 2013: 19, 22, 61, 28, 12 g/kg between the branches at 20..60 %RH.
def test_the_loop_is_as_wide_as_measured():
    humidity = np.array([0.2, 0.3, 0.4, 0.5, 0.6])
    width = LOOP.uptake_kg_per_kg(humidity, 25.0, 1.0) - LOOP.uptake_kg_per_kg(humidity, 25.0, 0.0)

    assert 1e3 * width == pytest.approx([19.0, 22.0, 61.0, 28.0, 12.0], abs=0.5)


# Source: Thu et al. 2013: small below 20 %RH.
def test_the_loop_is_closed_when_the_gel_is_dry():
    wider = Branches(NARROW_PORE_GEL, DubininAstakhov(0.40, 4300.0, 1.1))
    water = np.array([0.01, 0.03, 0.05])

    assert wider.activity(water, 25.0, 1.0) == pytest.approx(wider.activity(water, 25.0, 0.0), rel=1e-12)


def test_its_ends_are_the_two_curves():
    water = np.array([0.15, 0.2, 0.3])

    assert LOOP.activity(water, 20.0) == pytest.approx(LOOP.adsorption.activity(water, 20.0))
    assert LOOP.activity(water, 20.0, 1.0) == pytest.approx(LOOP.desorption.activity(water, 20.0))


@given(st.floats(0.01, 0.35), BRANCH, BRANCH, st.floats(0.0, 40.0))
def test_nearer_desorption_means_drier_air_over_the_same_water(water, one, other, temp_c):
    up, down = sorted((one, other))

    assert LOOP.activity(water, temp_c, down) <= LOOP.activity(water, temp_c, up) + 1e-12


@given(st.floats(0.05, 0.95), BRANCH, st.floats(0.0, 40.0))
def test_activity_undoes_uptake_inside_the_loop(activity, branch, temp_c):
    water = LOOP.uptake_kg_per_kg(activity, temp_c, branch)

    assert LOOP.activity(water, temp_c, branch) == pytest.approx(activity, rel=1e-8)


@given(st.floats(0.125, 0.32), BRANCH)
def test_the_slope_against_water_is_a_derivative_where_the_loop_is_open(water, branch):
    step = 1e-6
    up, down = (LOOP.log_activity_terms(water + change, 20.0, branch)[0] for change in (step, -step))

    assert LOOP.log_activity_terms(water, 20.0, branch)[2] == pytest.approx((up - down) / (2 * step), rel=5e-3)


@given(st.floats(0.055, 0.115), BRANCH)
def test_the_slope_against_water_is_a_derivative_where_the_loop_opens(water, branch):
    loop = Branches(NARROW_PORE_GEL, DubininAstakhov(0.40, 4300.0, 1.1))
    step = 1e-6
    up, down = (loop.log_activity_terms(water + change, 20.0, branch)[0] for change in (step, -step))

    assert loop.log_activity_terms(water, 20.0, branch)[2] == pytest.approx(
        max((up - down) / (2 * step), 1e-3), rel=1e-4
    )


def test_where_the_desorption_curve_crosses_the_other_it_counts_as_equal():
    crossed = Branches(NARROW_PORE_GEL, DubininAstakhov(0.30, 3500.0, 1.1))
    water = np.array([0.15, 0.2, 0.25])

    assert crossed.activity(water, 20.0, 1.0) == pytest.approx(NARROW_PORE_GEL.activity(water, 20.0))


def test_the_heat_is_that_of_the_branch_the_gel_is_on():
    assert LOOP.isosteric_heat_j_per_kg(0.25, 25.0, 1.0) == pytest.approx(
        LOOP.desorption.isosteric_heat_j_per_kg(0.25, 25.0)
    )


@given(BRANCH, st.floats(-0.4, 0.4))
def test_the_branch_stays_between_the_curves(branch, change):
    assert 0.0 <= LOOP.moved_branch(branch, change) <= 1.0


@given(BRANCH, st.floats(0.0, 0.4))
def test_taking_up_moves_to_adsorption_and_giving_off_to_desorption(branch, amount):
    assert LOOP.moved_branch(branch, amount) <= branch
    assert LOOP.moved_branch(branch, -amount) >= branch


@given(BRANCH, st.floats(0.0, 0.2), st.floats(0.0, 0.2))
def test_a_move_in_two_parts_is_the_same_as_one(branch, first, second):
    twice = LOOP.moved_branch(LOOP.moved_branch(branch, first), second)

    assert twice == pytest.approx(LOOP.moved_branch(branch, first + second), abs=1e-12)


def test_a_small_cycle_inside_the_loop_comes_back_to_where_it_was():
    start = 0.5
    there = LOOP.moved_branch(start, 0.01)

    assert LOOP.moved_branch(there, -0.01) == pytest.approx(start)


def test_a_whole_scan_leads_from_one_curve_to_the_other():
    assert LOOP.moved_branch(0.0, -LOOP.scan_kg_per_kg) == 1.0
    assert LOOP.moved_branch(1.0, LOOP.scan_kg_per_kg) == 0.0


@pytest.mark.parametrize("bad", [-0.1, 1.1, np.nan])
def test_a_place_outside_the_loop_is_refused(bad):
    with pytest.raises(ValueError, match="branch must lie in"):
        LOOP.activity(0.2, 20.0, bad)
    with pytest.raises(ValueError, match="branch must lie in"):
        LOOP.uptake_kg_per_kg(0.2, 20.0, bad)


def test_a_loop_without_width_to_scan_or_close_is_refused():
    with pytest.raises(ValueError, match="scan_kg_per_kg must be above 0"):
        Branches(NARROW_PORE_GEL, NARROW_PORE_GEL, scan_kg_per_kg=0.0)
    with pytest.raises(ValueError, match="closed_below_kg_per_kg must be at least 0"):
        Branches(NARROW_PORE_GEL, NARROW_PORE_GEL, closed_below_kg_per_kg=0.2, open_above_kg_per_kg=0.1)


@pytest.mark.parametrize("change", [-0.02, -0.01, 0.0, 0.01])
def test_the_slope_of_a_scan_is_a_derivative_along_the_way_between_the_branches(change):
    known, step = 0.2, 1e-7

    def ln_h(q):
        return LOOP.log_activity_terms(q, 25.0, 0.5, q - known)[0]

    at = known + change
    slope = LOOP.log_activity_terms(at, 25.0, 0.5, change)[2]
    assert slope == pytest.approx((ln_h(at + step) - ln_h(at - step)) / (2 * step), rel=1e-4)
    assert slope > 1.2 * LOOP.log_activity_terms(at, 25.0, 0.5)[2]
