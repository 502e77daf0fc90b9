"""The oven and the bench."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from simstore.physics.air import saturation_pressure_pa
from simstore.physics.drying import (
    BEAD_RADIUS_M,
    BULK_KG_PER_M3,
    bead_rate_per_s,
    drying_energy_j,
    drying_rate_per_h,
    residual_kg_per_kg,
    water_after_bench_cooling,
    water_after_drying_kg_per_kg,
)
from simstore.physics.packet import bed_permeability_kg_per_m_s_pa
from simstore.physics.sorption import NARROW_PORE_GEL

GEL = NARROW_PORE_GEL
ROOM_PA = float(0.5 * saturation_pressure_pa(20.0))


@given(st.floats(60.0, 150.0), st.floats(1.0, 40.0), st.floats(100.0, 3000.0))
def test_a_hotter_oven_and_a_drier_room_leave_less_water(oven_c, hotter, room_pa):
    assert residual_kg_per_kg(GEL, oven_c + hotter, room_pa) < residual_kg_per_kg(GEL, oven_c, room_pa)
    assert residual_kg_per_kg(GEL, oven_c, room_pa / 2.0) < residual_kg_per_kg(GEL, oven_c, room_pa)


def test_an_oven_colder_than_the_dew_point_leaves_saturated_gel():
    assert residual_kg_per_kg(GEL, 10.0, 2000.0) == pytest.approx(0.38)


def test_drying_is_quicker_when_hotter_and_when_spread_thinner():
    assert drying_rate_per_h(120.0, 0.02) > drying_rate_per_h(104.0, 0.02)
    assert drying_rate_per_h(104.0, 0.01) == pytest.approx(2.0 * drying_rate_per_h(104.0, 0.02))


# Source: Li and Li 2006 (abstract): desorption energy of water on A-type gel 35.54 kJ/mol.
def test_the_rate_follows_the_published_desorption_energy():
    ratio = drying_rate_per_h(124.0, 0.02) / drying_rate_per_h(104.0, 0.02)
    by_hand = np.exp(35540.0 / 8.314462618 * (1.0 / 377.15 - 1.0 / 397.15))

    assert ratio == pytest.approx(by_hand)


def dried(q0, hours, residual=0.006, rate=0.39):
    return water_after_drying_kg_per_kg(q0, residual=residual, rate_per_h=rate, duration_h=hours)


@given(st.floats(0.0, 0.4), st.floats(0.0, 10.0), st.floats(0.0, 10.0))
def test_drying_in_two_parts_is_drying_in_one(q0, first, second):
    assert dried(dried(q0, first), second) == pytest.approx(dried(q0, first + second), abs=1e-12)


@given(st.floats(0.0, 0.4), st.floats(0.0, 100.0))
def test_drying_never_wets_and_never_passes_the_residual(q0, hours):
    left = dried(q0, hours)

    assert left <= q0
    assert left >= min(q0, 0.006) - 1e-15


def energy(**changes):
    values = {
        "gel_kg": 5.0, "water_driven_off_kg": 1.0, "heat_j_per_kg": 2.6e6, "oven_c": 104.0, "room_c": 20.0,
        "casing_w": 250.0, "duration_s": 25200.0,
    } | changes  # fmt: skip
    return drying_energy_j(**values)


def test_energy_is_heat_of_desorption_warming_and_casing():
    # By hand: 1 kg x 2.6 MJ + (5 x 922 + 1 x 4186) x 84 K + 250 W x 7 h = 2.6 + 0.738864 + 6.3 MJ.
    assert energy() == pytest.approx(9.638864e6)


def test_water_that_stays_is_warmed_too():
    assert energy(water_left_kg=0.1) - energy() == pytest.approx(0.1 * 4186.0 * 84.0)


def test_a_cold_oven_takes_no_warming():
    assert energy(oven_c=10.0, room_c=20.0, casing_w=0.0) == pytest.approx(2.6e6)


def test_the_oven_charges_the_heat_of_the_isotherm():
    heat = GEL.isosteric_heat_j_per_kg(0.1, 104.0)
    charged = energy(gel_kg=0.0, heat_j_per_kg=heat, room_c=104.0, casing_w=0.0)

    assert charged == pytest.approx(heat, rel=1e-12)


def cooled(q0=0.02, **changes):
    values = {
        "oven_c": 104.0, "room_c": 20.0, "room_vapour_pa": ROOM_PA, "bed_depth_m": 0.02, "duration_h": 6.0,
    } | changes  # fmt: skip
    return water_after_bench_cooling(GEL, q0, **values)


def test_gel_that_cools_in_the_open_takes_up_water_again():
    assert cooled() > 0.02 + 0.002


def test_a_thin_bed_takes_up_more_than_a_deep_one():
    assert cooled(bed_depth_m=0.005) > cooled(bed_depth_m=0.02) > cooled(bed_depth_m=0.05)


def test_it_takes_up_more_the_longer_it_lies_and_the_wetter_the_room():
    assert cooled(duration_h=24.0) > cooled(duration_h=6.0)
    assert cooled(room_vapour_pa=1.5 * ROOM_PA) > cooled()


def test_no_time_on_the_bench_changes_nothing():
    assert cooled(duration_h=0.0) == pytest.approx(0.02)


@pytest.mark.parametrize("q0", [0.0, 0.02, 0.35])
def test_given_months_it_comes_to_equilibrium_with_the_room(q0):
    assert cooled(q0, bed_depth_m=0.005, duration_h=5000.0) == pytest.approx(
        float(GEL.uptake_kg_per_kg(0.5, 20.0)), rel=1e-3
    )


@pytest.mark.parametrize("depth", [0.005, 0.02])
def test_cooling_on_the_bench_agrees_with_an_adaptive_solver(depth):
    def slope(t_h, q):
        temp_c = 20.0 + 84.0 * np.exp(-t_h)
        ln_h, _, by_q = GEL.log_activity_terms(q, temp_c)
        pressure = np.exp(ln_h) * saturation_pressure_pa(temp_c)
        bed = BULK_KG_PER_M3 * depth * 0.5 * depth / bed_permeability_kg_per_m_s_pa(temp_c)
        return (ROOM_PA - pressure) / (bed + pressure * by_q / bead_rate_per_s(temp_c, BEAD_RADIUS_M)) * 3600.0

    exact = solve_ivp(slope, (0.0, 6.0), [0.02], method="LSODA", rtol=1e-9, atol=1e-12).y[0, -1]

    assert cooled(bed_depth_m=depth) == pytest.approx(exact, rel=0.01)


def test_packets_cool_side_by_side():
    assert cooled(np.array([0.01, 0.02]), bed_depth_m=np.array([[0.01], [0.02], [0.03]])).shape == (3, 2)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: residual_kg_per_kg(GEL, 250.0, 1000.0), "temp_c must lie"),
        (lambda: residual_kg_per_kg(GEL, 104.0, -1.0), "room_vapour_pa must lie"),
        (lambda: drying_rate_per_h(104.0, 0.0), "bed_depth_m must be above 0"),
        (lambda: dried(-0.1, 1.0), "q0 must lie"),
        (lambda: dried(0.1, -1.0), "duration_h must lie"),
        (lambda: energy(gel_kg=-1.0), "gel_kg must lie"),
        (lambda: energy(casing_w=-1.0), "casing_w must lie"),
        (lambda: cooled(-0.1), "q0 must lie"),
        (lambda: cooled(duration_h=-1.0), "duration_h must lie"),
        (lambda: cooled(time_constant_h=0.0), "time_constant_h must be above 0"),
        (lambda: cooled(bead_radius_m=0.0), "bead_radius_m must be above 0"),
    ],
)
def test_impossible_ovens_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
