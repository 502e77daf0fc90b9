"""Walls: air exchange, films and layers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.air import vapour_content_g_per_m3
from simstore.physics.wall import (
    air_exchange_conductance_kg_per_s_pa,
    air_exchange_m3_per_s,
    film_conductance_kg_per_s_pa,
    film_permeability,
    layer_conductance_kg_per_s_pa,
    series_conductance,
)

CONDUCTANCES = st.lists(st.floats(1e-15, 1e-9), min_size=2, max_size=6)


@given(st.floats(0.0, 20.0), st.floats(1e-4, 1.0), st.floats(-10.0, 40.0))
def test_air_exchange_brings_in_the_vapour_of_the_air_it_exchanges(leak_per_day, volume_m3, temp_c):
    # By mass: N V of saturated air a day, against conductance times its vapour pressure.
    pressure = vapour_content_g_per_m3(temp_c, 100.0) / 1e3 * 461.52 * (temp_c + 273.15)
    a_day = air_exchange_conductance_kg_per_s_pa(leak_per_day, volume_m3, temp_c) * pressure * 86400.0

    assert a_day == pytest.approx(leak_per_day * volume_m3 * vapour_content_g_per_m3(temp_c, 100.0) / 1e3)


def permeability(temp_c, **changes):
    values = {"permeability_kg_per_m_s_pa": 4.66e-16, "measured_at_c": 20.0, "activation_kj_per_mol": 26.0} | changes
    return film_permeability(**values, temp_c=temp_c)


def test_permeability_is_the_measured_one_where_it_was_measured():
    assert permeability(20.0) == 4.66e-16


@given(st.floats(-20.0, 60.0), st.floats(-20.0, 60.0))
def test_carrying_a_permeability_there_and_back_changes_nothing(one, other):
    there = permeability(one)

    assert permeability(other, permeability_kg_per_m_s_pa=there, measured_at_c=one) == pytest.approx(
        permeability(other)
    )


def test_without_activation_energy_temperature_does_not_matter():
    assert permeability([0.0, 40.0], activation_kj_per_mol=0.0) == pytest.approx([4.66e-16] * 2)


# Source: DIN 55474: LDPE of 200 um passes 0.4 g/(m2 d) at 20 degC and 85 %RH.
def test_din_film_passes_what_din_says():
    a_day = film_conductance_kg_per_s_pa(4.66e-16, 1.0, 200e-6) * 0.85 * 2339.19 * 86400.0 * 1e3

    assert a_day == pytest.approx(0.4, rel=2e-3)


@given(CONDUCTANCES)
def test_layers_in_series_pass_less_than_the_tightest_and_more_than_its_share(layers):
    whole = series_conductance(layers)

    assert min(layers) / len(layers) * (1 - 1e-12) <= whole <= min(layers)


@given(CONDUCTANCES)
def test_the_order_of_layers_does_not_change_what_they_pass(layers):
    assert series_conductance(layers[::-1]) == pytest.approx(series_conductance(layers))


def test_one_tight_layer_makes_the_whole_tight():
    assert series_conductance([[1e-12, 1e-12], [0.0, 1e-12]]) == pytest.approx([0.0, 0.5e-12])


def test_layers_may_lie_along_any_axis():
    layers = np.array([[1e-12, 2e-12, 2e-12], [1e-12, 1e-12, 1e-12]])

    assert series_conductance(layers, axis=1) == pytest.approx([0.5e-12, 1e-12 / 3])


def test_a_layer_is_leak_and_film_side_by_side():
    assert layer_conductance_kg_per_s_pa(1e-12, [0.0, 2e-12]) == pytest.approx([1e-12, 3e-12])


@given(st.floats(0.0, 20.0), st.floats(1e-4, 1.0))
def test_a_leak_is_so_many_volumes_a_day(leak_per_day, volume_m3):
    assert air_exchange_m3_per_s(leak_per_day, volume_m3) * 86400.0 == pytest.approx(leak_per_day * volume_m3)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: air_exchange_conductance_kg_per_s_pa(-1.0, 1.0, 20.0), "leak_per_day must lie"),
        (lambda: air_exchange_conductance_kg_per_s_pa(1.0, -1.0, 20.0), "volume_m3 must lie"),
        (lambda: air_exchange_conductance_kg_per_s_pa(1.0, 1.0, 400.0), "temp_c must lie"),
        (lambda: permeability(20.0, permeability_kg_per_m_s_pa=-1.0), "permeability_kg_per_m_s_pa must lie"),
        (lambda: permeability(20.0, activation_kj_per_mol=-1.0), "activation_kj_per_mol must lie"),
        (lambda: permeability(20.0, measured_at_c=-300.0), "temp_c must lie"),
        (lambda: film_conductance_kg_per_s_pa(1e-16, 1.0, 0.0), "thickness_m must be above 0"),
        (lambda: film_conductance_kg_per_s_pa(1e-16, -1.0, 1e-4), "area_m2 must lie"),
        (lambda: series_conductance([1e-12, -1e-12]), "layers must lie"),
        (lambda: layer_conductance_kg_per_s_pa(1e-12, np.nan), "film_kg_per_s_pa must lie"),
    ],
)
def test_impossible_walls_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
