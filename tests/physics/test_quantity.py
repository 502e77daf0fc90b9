"""Trade formulas; their worked examples are rows of the table of outside checks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.quantity import (
    JIS_0303_K1,
    JIS_0303_RH_PCT,
    JIS_0303_TEMP_C,
    conservation_gel_kg,
    din_55474_simplified_units,
    din_55474_units,
    hygrometric_half_time_days,
    jis_k1_per_pct,
    jis_z_0301_w_g,
    jis_z_0303_w_kg,
    third_of_empty_space_kg,
    us_flexible_units,
    us_rigid_units,
    whole_units,
)

NOTHING = {
    "volume_m3": 0.0, "packing_kg": 0.0, "packing_water_g_per_kg": 80.0, "film_m2": 0.0, "film_g_per_m2_day": 0.4,
    "duration_days": 360.0, "final_rh_pct": 40,
}  # fmt: skip


# Source: DIN 55474, worked example: 553.2 g from the air, 1600 g from the packing, 6552 g through the film, 6 g a unit.
@pytest.mark.parametrize(
    ("part", "grams"), [({"volume_m3": 40.0}, 553.2), ({"packing_kg": 20.0}, 1600.0), ({"film_m2": 65.0}, 6552.0)]
)
def test_each_part_of_din_55474_is_that_of_the_worked_example(part, grams):
    assert 6.0 * din_55474_units(**NOTHING | part) == pytest.approx(grams)


# Source: DIN 55474: 3, 6, 7, 8 g a unit and factors .9, .7, .65, .6 at 20, 40, 50, 60 %RH.
@pytest.mark.parametrize(("final", "unit_g", "factor"), [(20, 3, 0.9), (40, 6, 0.7), (50, 7, 0.65), (60, 8, 0.6)])
def test_din_55474_has_a_unit_and_a_factor_for_each_final_humidity(final, unit_g, factor):
    units = din_55474_units(**NOTHING | {"film_m2": 1.0, "final_rh_pct": final})

    assert units == pytest.approx(0.4 * 360.0 * factor / unit_g)


def test_a_final_humidity_that_din_55474_does_not_have_is_refused():
    with pytest.raises(ValueError, match="final_rh_pct must be one of 20, 40, 50, 60 %RH, got 15"):
        din_55474_units(**NOTHING | {"final_rh_pct": 15})


def test_the_short_form_adds_twenty_units_for_a_kilogram_of_packing():
    assert din_55474_simplified_units(
        film_m2=0.0, film_g_per_m2_day=0.4, duration_days=90.0, packing_kg=1.2
    ) == pytest.approx(24.0)


# Source: US military practice, 1.2 units per cubic foot of a rigid container.
def test_a_rigid_cubic_foot_takes_1_2_units():
    assert us_rigid_units(0.0283168) == pytest.approx(1.2, rel=1e-5)


# Source: JIS Z 0301, printed K1.
@pytest.mark.parametrize(
    ("temp_c", "k1"), [(40, 11.1), (35, 7.0), (30, 4.5), (25, 2.8), (20, 1.8), (15, 1.05), (10, 0.63)]
)
def test_k1_of_jis_z_0301_is_the_printed_one(temp_c, k1):
    assert 1e3 * jis_k1_per_pct(temp_c) == pytest.approx(k1)


@given(st.floats(10.0, 39.0), st.floats(0.1, 1.0))
def test_k1_rises_with_temperature(temp_c, step):
    assert jis_k1_per_pct(temp_c + step) > jis_k1_per_pct(temp_c)


def test_jis_z_0301_adds_what_the_packing_takes():
    bare = {
        "film_g_per_m2_day": 8.0, "film_m2": 6.0, "duration_days": 30.0, "outside_rh_pct": 85.0, "inside_rh_pct": 50.0,
        "k1_per_pct": 0.0045, "final_water_pct": 24.0, "first_water_pct": 2.0,
    }  # fmt: skip

    assert jis_z_0301_w_g(**bare, packing_g=100.0, k2=0.3) - jis_z_0301_w_g(**bare) == pytest.approx(30.0)
    with pytest.raises(ValueError, match="final_water_pct - first_water_pct must be above 0"):
        jis_z_0301_w_g(**bare | {"first_water_pct": 24.0})


def w_0303(temp_c, outside_rh_pct, **more):
    return jis_z_0303_w_kg(
        film_m2=1.0, film_g_per_m2_day=1.0, duration_months=1.0, temp_c=temp_c, outside_rh_pct=outside_rh_pct, **more
    )


def test_jis_z_0303_gives_its_printed_table_back():
    ours = w_0303(np.array(JIS_0303_TEMP_C)[:, None], np.array(JIS_0303_RH_PCT)[None, :])

    assert ours == pytest.approx(np.array(JIS_0303_K1))


# Source: JIS Z 0303:2009: typed a second time for four corners and the middle.
@pytest.mark.parametrize(
    ("temp_c", "rh", "k1"), [(40, 90, 0.120), (40, 60, 0.065), (10, 90, 0.0067), (10, 60, 0.0037), (25, 75, 0.024)]
)
def test_jis_z_0303_is_the_printed_one_at_single_places(temp_c, rh, k1):
    assert w_0303(temp_c, rh) == pytest.approx(k1)


@given(st.floats(10.0, 39.0), st.floats(60.0, 89.0))
def test_warmer_and_wetter_outside_needs_more_by_jis_z_0303(temp_c, rh):
    assert w_0303(temp_c + 1.0, rh) > w_0303(temp_c, rh)
    assert w_0303(temp_c, rh + 1.0) > w_0303(temp_c, rh)


def test_jis_z_0303_adds_what_the_packing_takes():
    assert w_0303(25.0, 75.0, packing_kg=2.0, k2=0.1) == pytest.approx(0.224)


@pytest.mark.parametrize(("temp_c", "rh", "name"), [(5, 75, "temp_c"), (41, 75, "temp_c"), (25, 50, "outside_rh_pct")])
def test_jis_z_0303_is_not_carried_beyond_its_table(temp_c, rh, name):
    with pytest.raises(ValueError, match=f"{name} must lie in"):
        w_0303(temp_c, rh)


@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_half_time_and_conservation_formula_are_one_law(leak_per_day, capacity):
    # For half of the way, ln 2 times the linear estimate of the conservation formula (D = F).
    days = hygrometric_half_time_days(
        capacity_g_per_kg_pct=capacity, gel_kg_per_m3=20.0, leak_per_day=leak_per_day, temp_c=20.0
    )
    gel = conservation_gel_kg(
        temp_c=20.0, rh_difference_pct=40.0, volume_m3=1.0, leak_per_day=leak_per_day, duration_days=days / np.log(2.0),
        capacity_g_per_kg_pct=capacity, rh_range_pct=40.0,
    )  # fmt: skip

    assert gel == pytest.approx(20.0)


# Source: common practice, no source: gel fills one third of the empty space.
def test_a_third_of_nine_litres_is_three_litres_of_gel():
    assert third_of_empty_space_kg(9e-3, 700.0) == pytest.approx(2.1)


@pytest.mark.parametrize(("units", "whole"), [(0.0, 0.0), (3.7, 4.0), (4.0, 4.0), (60.00000001, 60.0), (4.001, 5.0)])
def test_units_are_rounded_up_but_not_for_round_off(units, whole):
    assert whole_units(units) == whole


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: us_flexible_units(-1.0), "barrier_m2 must lie"),
        (lambda: us_rigid_units(-1.0), "volume_m3 must lie"),
        (lambda: third_of_empty_space_kg(1.0, 0.0), "bulk_kg_per_m3 must be above 0"),
        (lambda: jis_k1_per_pct(5.0), "temp_c must lie"),
        (lambda: whole_units(np.nan), "units must lie"),
        (lambda: din_55474_units(**NOTHING | {"film_m2": -1.0}), "film_m2 must lie"),
    ],
)
def test_impossible_quantities_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
