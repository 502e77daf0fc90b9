"""Trade formulas; their worked examples are rows of the table of outside checks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.quantity import (
    din_55474_simplified_units,
    din_55474_units,
    jis_k1_per_pct,
    jis_z_0301_w_g,
    third_of_empty_space_kg,
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


# Source: common practice, no source: gel fills one third of the empty space.
def test_a_third_of_nine_litres_is_three_litres_of_gel():
    assert third_of_empty_space_kg(9e-3, 700.0) == pytest.approx(2.1)


@pytest.mark.parametrize(("units", "whole"), [(0.0, 0.0), (3.7, 4.0), (4.0, 4.0), (60.00000001, 60.0), (4.001, 5.0)])
def test_units_are_rounded_up_but_not_for_round_off(units, whole):
    assert whole_units(units) == whole


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: din_55474_units(**NOTHING | {"volume_m3": -1.0}), "volume_m3 must lie"),
        (lambda: din_55474_units(**NOTHING | {"packing_kg": -1.0}), "packing_kg must lie"),
        (lambda: third_of_empty_space_kg(1.0, 0.0), "bulk_kg_per_m3 must be above 0"),
        (lambda: jis_k1_per_pct(5.0), "temp_c must lie"),
        (lambda: whole_units(np.nan), "units must lie"),
        (lambda: din_55474_units(**NOTHING | {"film_m2": -1.0}), "film_m2 must lie"),
    ],
)
def test_impossible_quantities_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
