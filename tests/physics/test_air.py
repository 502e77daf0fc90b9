"""Water vapour in air."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.air import (
    R_VAPOUR_J_PER_KG_K,
    latent_heat_j_per_kg,
    saturation_logarithm,
    saturation_pressure_pa,
    vapour_content_g_per_m3,
    vapour_diffusivity_m2_per_s,
)

TEMPERATURES = st.floats(-40.0, 200.0)


# Source: Monteith and Unsworth 2013, 2.471e-5 m2/s at 25 degC, as T to the 1.75.
def test_diffusivity_is_that_of_monteith_and_unsworth_at_25_degrees():
    assert vapour_diffusivity_m2_per_s(25.0) == pytest.approx(2.471e-5, rel=1e-12)


# Source: value from memory, unverified: about 2.42e-5 m2/s at 20 degC in heat transfer tables.
def test_diffusivity_at_20_degrees_is_near_that_of_heat_transfer_tables():
    assert vapour_diffusivity_m2_per_s(20.0) == pytest.approx(2.42e-5, rel=0.02)


# Source: boiling point of water at 101 325 Pa, 99.974 degC (IAPWS-95; value from memory, unverified).
def test_water_boils_at_100_degrees_under_one_atmosphere():
    assert saturation_pressure_pa(99.974) == pytest.approx(101325.0, rel=1e-4)


# Source: World Meteorological Organization, WMO-No. 8: 611.2 exp(17.62 t/(243.12 + t)) Pa over (supercooled) liquid
# water, -45..60 degC. An independent form; the bound is the fits' own error below freezing.
@pytest.mark.parametrize(("temp_c", "bound"), [(-40.0, 0.02), (-20.0, 0.005), (-5.0, 0.003), (20.0, 0.003)])
def test_below_freezing_the_pressure_is_that_over_supercooled_water(temp_c, bound):
    magnus = 611.2 * np.exp(17.62 * temp_c / (243.12 + temp_c))

    assert saturation_pressure_pa(temp_c) == pytest.approx(magnus, rel=bound)


@given(TEMPERATURES, st.floats(0.01, 20.0))
def test_saturation_pressure_rises_with_temperature(temp_c, step):
    warmer = min(temp_c + step, 200.0)

    assert saturation_pressure_pa(warmer) >= saturation_pressure_pa(temp_c)


@given(st.floats(-39.0, 199.0))
def test_latent_heat_is_the_slope_of_the_saturation_pressure(temp_c):
    near = np.array([temp_c - 0.05, temp_c + 0.05])
    slope = np.diff(np.log(saturation_pressure_pa(near))) / np.diff(1.0 / (near + 273.15))

    assert latent_heat_j_per_kg(temp_c) == pytest.approx(-R_VAPOUR_J_PER_KG_K * slope[0], rel=1e-5)


@given(TEMPERATURES)
def test_the_logarithm_belongs_to_the_pressure(temp_c):
    assert np.exp(saturation_logarithm(temp_c)[0]) * 22.064e6 == pytest.approx(saturation_pressure_pa(temp_c))


@given(st.floats(-40.0, 60.0), st.floats(0.0, 100.0))
def test_vapour_content_is_in_proportion_to_humidity(temp_c, rh_pct):
    part = vapour_content_g_per_m3(temp_c, rh_pct)

    assert part == pytest.approx(rh_pct / 100.0 * vapour_content_g_per_m3(temp_c, 100.0), abs=1e-12)


@pytest.mark.parametrize("temp_c", [-40.1, 200.1, np.nan, np.inf])
@pytest.mark.parametrize(
    "function", [saturation_pressure_pa, latent_heat_j_per_kg, vapour_diffusivity_m2_per_s], ids=lambda f: f.__name__
)
def test_temperatures_outside_the_range_are_refused(function, temp_c):
    with pytest.raises(ValueError, match=r"temp_c must lie in -40\.\.200 degC"):
        function([20.0, temp_c])


@pytest.mark.parametrize("rh_pct", [-0.1, 100.1, np.nan])
def test_humidities_outside_the_range_are_refused(rh_pct):
    with pytest.raises(ValueError, match=r"rh_pct must lie in 0\.\.100 %RH"):
        vapour_content_g_per_m3(20.0, rh_pct)


def test_temperatures_and_humidities_broadcast():
    assert vapour_content_g_per_m3(np.full((3, 1), 20.0), np.full(4, 50.0)).shape == (3, 4)


def test_an_empty_array_gives_an_empty_array():
    assert saturation_pressure_pa(np.array([])).shape == (0,)
