"""Laws that every isotherm keeps, and those of the single forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.air import latent_heat_j_per_kg, saturation_pressure_pa
from simstore.physics.sorption import NARROW_PORE_GEL, Branches, DubininAstakhov, Tabulated, Toth

# Source: Chua et al., Int. J. Heat Mass Transfer 47 (2004) 659, narrow-pore gel.
CHUA = Toth(k0_kg_per_kg_pa=7.30e-13, heat_j_per_kg=2.693e6, capacity_kg_per_kg=0.45, exponent=12.0)
# Source: Thu et al., Appl. Therm. Eng. 50 (2013) 1596, second gel at 25 degC, digitised.
THU_UP = Tabulated(25.0, [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8], [0.064, 0.111, 0.163, 0.224, 0.288, 0.346, 0.410])
THU_DOWN = Tabulated(25.0, [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8], [0.079, 0.128, 0.183, 0.313, 0.358, 0.389, 0.416])
SLOW = DubininAstakhov(capacity_kg_per_kg=0.35, energy_j_per_mol=5000.0, exponent=0.8)
LOOP = Branches(THU_UP, THU_DOWN)
ISOTHERMS = {"default": NARROW_PORE_GEL, "toth": CHUA, "table": THU_UP, "slow": SLOW, "loop": LOOP}

every_isotherm = pytest.mark.parametrize("isotherm", ISOTHERMS.values(), ids=ISOTHERMS.keys())
TEMPERATURES = st.floats(-20.0, 150.0)


@every_isotherm
@given(activity=st.floats(0.02, 0.999), temp_c=TEMPERATURES)
def test_activity_undoes_uptake(isotherm, activity, temp_c):
    water = isotherm.uptake_kg_per_kg(activity, temp_c)

    assert isotherm.activity(water, temp_c) == pytest.approx(activity, rel=1e-8)


@every_isotherm
@given(low=st.floats(0.0, 1.0), high=st.floats(0.0, 1.0), temp_c=TEMPERATURES)
def test_more_humid_air_means_more_water(isotherm, low, high, temp_c):
    dry, wet = isotherm.uptake_kg_per_kg(np.array(sorted((low, high))), temp_c)

    assert wet >= dry - 1e-12


@every_isotherm
@given(activity=st.floats(0.02, 0.95), temp_c=st.floats(-20.0, 140.0), step=st.floats(0.1, 10.0))
def test_hot_gel_holds_less_water_at_the_same_vapour_pressure(isotherm, activity, temp_c, step):
    pressure = activity * saturation_pressure_pa(temp_c)
    hot = isotherm.uptake_kg_per_kg(pressure / saturation_pressure_pa(temp_c + step), temp_c + step)

    assert hot < isotherm.uptake_kg_per_kg(activity, temp_c)


@every_isotherm
@given(water=st.floats(1e-3, 0.3), temp_c=st.floats(-20.0, 150.0))
def test_log_terms_are_the_logarithm_of_the_activity(isotherm, water, temp_c):
    ln_h, _, _ = isotherm.log_activity_terms(water, temp_c)

    assert np.exp(ln_h) == pytest.approx(isotherm.activity(water, temp_c), rel=1e-12)


@every_isotherm
@given(water=st.floats(2e-3, 0.3), temp_c=st.floats(-10.0, 140.0))
def test_the_slope_against_inverse_temperature_is_a_derivative(isotherm, water, temp_c):
    near = np.array([temp_c - 0.1, temp_c + 0.1])
    ln_h = isotherm.log_activity_terms(water, near)[0]
    by_difference = np.diff(ln_h)[0] / np.diff(1.0 / (near + 273.15))[0]

    assert isotherm.log_activity_terms(water, temp_c)[1] == pytest.approx(by_difference, rel=1e-4, abs=1e-2)


@pytest.mark.parametrize("isotherm", [NARROW_PORE_GEL, CHUA, THU_UP, SLOW], ids=["default", "toth", "table", "slow"])
@given(water=st.floats(2e-3, 0.3), temp_c=st.floats(-10.0, 140.0))
def test_the_slope_against_water_is_a_derivative(isotherm, water, temp_c):
    step = 1e-6
    up, down = (isotherm.log_activity_terms(water + change, temp_c)[0] for change in (step, -step))
    # A table's curve has kinks of the second kind at its points; the bound is what they do over the step.
    assert isotherm.log_activity_terms(water, temp_c)[2] == pytest.approx((up - down) / (2 * step), rel=1e-3)


@every_isotherm
def test_dry_and_overfull_gel_have_finite_terms(isotherm):
    water = np.array([0.0, 1e-12, 1e-6, 1e-3, 0.34, 0.379999999, 0.38, 0.45, 0.6, 5.0])
    for terms in isotherm.log_activity_terms(water, np.full(water.size, 18.0)):
        assert terms.shape == water.shape
        assert np.all(np.isfinite(terms))


@every_isotherm
def test_overfull_gel_is_at_saturation_with_a_slope_above_zero(isotherm):
    ln_h, by_inverse_temperature, by_q = isotherm.log_activity_terms(np.array([0.6, 5.0]), 20.0)

    assert np.all(ln_h == 0.0)
    assert np.all(by_inverse_temperature == 0.0)
    assert np.all(by_q >= 1e-3)
    assert np.all(isotherm.activity([0.6, 5.0], 20.0) == 1.0)


@every_isotherm
def test_dry_gel_is_in_equilibrium_with_dry_air(isotherm):
    assert isotherm.activity(0.0, 20.0) == 0.0
    assert isotherm.uptake_kg_per_kg(0.0, 20.0) == pytest.approx(0.0, abs=1e-12)


@every_isotherm
@given(water=st.floats(1e-3, 0.3), temp_c=st.floats(0.0, 140.0))
def test_isosteric_heat_is_clausius_clapeyron_on_the_isotherm(isotherm, water, temp_c):
    near = np.array([temp_c - 0.1, temp_c + 0.1])
    ln_h, _, _ = isotherm.log_activity_terms(water, near)
    ln_p = ln_h + np.log(saturation_pressure_pa(near))
    slope = np.diff(ln_p)[0] / np.diff(1.0 / (near + 273.15))[0]

    assert isotherm.isosteric_heat_j_per_kg(water, temp_c) == pytest.approx(-461.52 * slope, rel=1e-4)


@pytest.mark.parametrize("isotherm", [NARROW_PORE_GEL, THU_UP, SLOW], ids=["default", "table", "slow"])
@given(water=st.floats(1e-3, 0.3), temp_c=st.floats(0.0, 140.0))
def test_freeing_water_from_gel_takes_more_than_vaporising_it(isotherm, water, temp_c):
    assert isotherm.isosteric_heat_j_per_kg(water, temp_c) >= latent_heat_j_per_kg(temp_c)


# Source: the constant of Chua et al. 2004; a Toth curve with a van 't Hoff Henry constant has one heat.
@given(st.floats(0.01, 0.25))
def test_a_toth_gel_has_its_own_heat_everywhere(water):
    assert CHUA.isosteric_heat_j_per_kg(water, 30.0) == pytest.approx(2.693e6, rel=1e-9)


# Source: Chua et al. 2004 against Thu et al. 2013: the Toth fit of type RD is 14 % above the measured gel at 20 %RH and
# 20-30 % at 40-80 %RH (measured .128, .244, .293, .321, .347 at 20, 40, 50, 60, 80 %RH).
def test_the_toth_fit_overshoots_the_measured_gel_as_published():
    over = CHUA.uptake_kg_per_kg([0.2, 0.4, 0.5, 0.6, 0.8], 25.0) / [0.128, 0.244, 0.293, 0.321, 0.347] - 1.0

    assert over[0] == pytest.approx(0.14, abs=0.015)
    assert np.all(over[1:] > 0.195)
    assert np.all(over[1:] < 0.305)


@given(st.floats(1e-6, 1e-4))
def test_a_toth_gel_follows_henry_when_it_is_almost_dry(activity):
    henry = 7.30e-13 * np.exp(2.693e6 / (461.52 * 298.15))

    assert CHUA.uptake_kg_per_kg(activity, 25.0) == pytest.approx(henry * activity * saturation_pressure_pa(25.0))


# Source: the characteristic energy's definition: at A = E the pores are filled to 1/e.
def test_a_dubinin_astakhov_gel_is_filled_to_one_over_e_at_its_energy():
    activity = np.exp(-3962.2 / (8.314462618 * 293.15))

    assert NARROW_PORE_GEL.uptake_kg_per_kg(activity, 20.0) == pytest.approx(0.38 / np.e)


# Near its capacity a Toth curve is steep: the slope must be the true one for as long as the air is not saturated.
@pytest.mark.parametrize("activity", [0.7, 0.9, 0.99])
def test_a_toth_gel_keeps_its_true_slope_up_to_saturation(activity):
    water = CHUA.uptake_kg_per_kg(activity, 0.0)
    near = CHUA.uptake_kg_per_kg(activity * np.array([0.9999, 1.0001]), 0.0)
    by_difference = np.log(1.0001 / 0.9999) / np.diff(near)[0]

    assert CHUA.log_activity_terms(water, 0.0)[2] == pytest.approx(by_difference, rel=1e-4)


def test_saturated_gel_is_at_its_capacity():
    assert NARROW_PORE_GEL.uptake_kg_per_kg(1.0, 20.0) == 0.38
    assert SLOW.uptake_kg_per_kg(1.0, 20.0) == 0.35


def test_round_off_above_saturation_is_forgiven():
    assert NARROW_PORE_GEL.uptake_kg_per_kg(1.0 + 1e-12, 20.0) == 0.38


def test_arrays_broadcast_and_keep_their_shape():
    water = np.linspace(0.01, 0.3, 5)
    temp_c = np.array([[10.0], [20.0]])
    for isotherm in ISOTHERMS.values():
        assert isotherm.activity(water, temp_c).shape == (2, 5)
        assert isotherm.uptake_kg_per_kg(np.full(5, 0.3), temp_c).shape == (2, 5)
        assert isotherm.isosteric_heat_j_per_kg(water, temp_c).shape == (2, 5)
        assert {terms.shape for terms in isotherm.log_activity_terms(water, temp_c)} == {(2, 5)}


@every_isotherm
@pytest.mark.parametrize("activity", [-0.01, 1.01, 40.0, np.nan])
def test_an_activity_outside_0_to_1_is_refused(isotherm, activity):
    with pytest.raises(ValueError, match=r"activity must lie in 0\.\.1 \(a fraction, not %\)"):
        isotherm.uptake_kg_per_kg(activity, 20.0)


@every_isotherm
def test_negative_water_is_refused(isotherm):
    with pytest.raises(ValueError, match=r"q must lie in 0\.\.inf kg/kg"):
        isotherm.activity(-1e-6, 20.0)


@every_isotherm
def test_an_impossible_temperature_is_refused(isotherm):
    with pytest.raises(ValueError, match="temp_c must lie in"):
        isotherm.uptake_kg_per_kg(0.5, 300.0)


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan, np.inf])
@pytest.mark.parametrize("place", range(3))
def test_a_constant_that_is_not_above_zero_is_refused(bad, place):
    constants = [0.38, 3962.2, 1.1]
    constants[place] = bad

    with pytest.raises(ValueError, match="must be above 0 and finite"):
        DubininAstakhov(*constants)
    with pytest.raises(ValueError, match="must be above 0 and finite"):
        Toth(7.3e-13, *constants)


def test_the_default_gel_has_the_constants_of_sapienza_2017():
    assert DubininAstakhov(0.38, 3962.2, 1.1) == NARROW_PORE_GEL
