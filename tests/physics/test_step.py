"""The step against closed forms, against itself in other blocks and uncompiled, and against the laws of water."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from physics.chain import Chain
from physics.uncompiled import uncompiled
from scipy.linalg import eigh_tridiagonal, expm

from simstore.physics import enclosure_rows as rows
from simstore.physics.air import saturation_pressure_pa, vapour_content_g_per_m3
from simstore.physics.linear_stores import diagonalise, phi
from simstore.physics.room_hours import Room
from simstore.physics.sorption import NARROW_PORE_GEL

CONTENT = float(vapour_content_g_per_m3(20.0, 100.0)) / 1e3
STIFF_TO_SLOW = {
    "air_m3": [[3e-3], [3e-3], [2e-3, 1e-3], [1e-3, 5e-4, 4e-3], [3e-3], [1e-3, 3e-3]],
    "leak_per_day": [[1.0], [30.0], [4.0, 2.0], [40.0, 3.0, 6.0], [2.0], [5.0, 2.0]],
    "packet": [2e-10, 1e-12, 1e-9, 3e-10, 0.0, 2e-10],
    "packing_kg": [0.0, 1e-3, 2e-4, 1e-3, 1e-3, 0.0],
    "gel_kg": [0.25, 5e-3, 0.5, 0.3, 0.0, 0.1],
    "inside": [0.6, 0.02, 0.3, 0.5, 0.1, 0.2],
    "q": [0.02, 0.1, 0.08, 0.03, 0.0, 0.2],
}
HOURS = 120


def constant_room(hours=HOURS, rh_pct=60.0):
    return Room.from_hours(np.full(hours, 20.0), np.full(hours, rh_pct))


def restless_room(hours, seed, dampest=99.0):
    rng = np.random.default_rng(seed)
    return Room.from_hours(15 + rng.normal(0, 4, hours).cumsum() / 5, rng.uniform(5, dampest, hours))


@functools.cache
def exact(i):
    """RH of the stores of one enclosure with linear gel at the end of every hour, by the matrix exponential."""
    volumes, leaks = np.array(STIFF_TO_SLOW["air_m3"][i]), np.array(STIFF_TO_SLOW["leak_per_day"][i])
    gel_kg = STIFF_TO_SLOW["gel_kg"][i]
    full = volumes * CONTENT
    full[-1] += STIFF_TO_SLOW["packing_kg"][i]
    conductances = list(leaks / 86400 * volumes * CONTENT)
    start = [STIFF_TO_SLOW["inside"][i]] * len(volumes)
    if gel_kg:
        full = np.append(full, 0.4 * gel_kg)
        conductances.append(STIFF_TO_SLOW["packet"][i] * float(saturation_pressure_pa(20.0)))
        start.append(STIFF_TO_SLOW["q"][i] / 0.4)
    rate = np.zeros((len(full), len(full)))
    for j, each in enumerate(conductances):
        rate[j, j] -= each / full[j]
        if j:
            rate[j - 1, j - 1] -= each / full[j - 1]
            rate[j - 1, j] += each / full[j - 1]
            rate[j, j - 1] += each / full[j]
    away, hourly, ends = np.array(start) - 0.6, expm(rate * 3600), []
    for _ in range(HOURS):
        away = hourly @ away
        ends.append(0.6 + away)
    return np.array(ends)


@pytest.mark.parametrize(("block_h", "bound"), [(1, 1e-9), (24, 5e-4)])
def test_linear_gel_in_a_constant_room_follows_the_matrix_exponential(block_h, bound):
    chain = Chain(constant_room(), **STIFF_TO_SLOW)

    for hour in range(block_h, HOURS + 1, block_h):
        chain.live(hour, block_h=block_h)
        for i, gel_kg in enumerate(STIFF_TO_SLOW["gel_kg"]):
            layers = len(STIFF_TO_SLOW["air_m3"][i])
            truth = exact(i)[hour - 1]
            assert chain.air(i, hour - 1) == pytest.approx(truth[:layers], abs=bound)
            if gel_kg:
                assert chain.state[i, rows.GEL_WATER_KG] / gel_kg / 0.4 == pytest.approx(truth[-1], abs=bound)


def test_blocks_of_a_day_and_of_an_hour_agree_in_a_restless_room():
    whole, hourly = (Chain(restless_room(240, 3, 70.0), curve=NARROW_PORE_GEL, **STIFF_TO_SLOW) for _ in range(2))

    whole.live(240)
    hourly.live(240, block_h=1)

    assert np.abs(whole.means_pct - hourly.means_pct).max() < 0.05
    assert whole.water_kg() == pytest.approx(hourly.water_kg(), rel=1e-4)


@st.composite
def enclosures_of_any_kind(draw):
    def each(low, high):
        return 10.0 ** draw(st.floats(np.log10(low), np.log10(high)))

    layers = [draw(st.integers(1, 4)) for _ in range(draw(st.integers(1, 3)))]
    gel = [draw(st.sampled_from([0.0, 1.0])) * each(1e-4, 2.0) for _ in layers]
    return {
        "air_m3": [[each(1e-5, 0.1) for _ in range(n)] for n in layers],
        "leak_per_day": [[each(1e-3, 100.0) for _ in range(n)] for n in layers],
        "packet": [each(1e-13, 1e-8) if kg else 0.0 for kg in gel],
        "packing_kg": [draw(st.sampled_from([0.0, 1.0])) * each(1e-5, 0.1) for _ in layers],
        "gel_kg": gel,
        "inside": [each(0.01, 1.0) for _ in layers],
        "q": [each(0.005, 0.5) for _ in layers],
    }


@given(store=enclosures_of_any_kind(), object_water_kg=st.sampled_from([0.0, 0.02]), seed=st.integers(0, 99))
@settings(max_examples=40, deadline=None)
def test_water_that_comes_in_is_stored_and_no_air_is_more_than_saturated(store, object_water_kg, seed):
    chain = Chain(restless_room(72, seed), curve=NARROW_PORE_GEL, object_water_kg=object_water_kg, **store)
    before = chain.water_kg()

    chain.live(72)

    came = chain.state[:, rows.INFLOW_KG] + chain.state[:, rows.FROM_OBJECTS_KG]
    scale = np.maximum(chain.state[:, rows.PASSED_KG], before)
    assert np.all(np.abs(chain.water_kg() - before - came) <= 1e-9 * scale)
    assert np.all(chain.state[:, rows.AIR_WATER_KG :] >= -1e-15)
    assert np.all(chain.state[:, rows.GEL_WATER_KG] >= 0.0)
    assert chain.means_pct.min() >= 0.0
    assert chain.means_pct.max() <= 100.0


def test_without_the_compiler_the_numbers_are_the_same():
    room = restless_room(96, 7)
    fast, plain = (Chain(room, curve=NARROW_PORE_GEL, object_water_kg=2e-3, **STIFF_TO_SLOW) for _ in range(2))

    fast.live(96)
    with uncompiled("simstore.physics.advance") as module:
        plain.live(96, step=module.advance)

    assert not hasattr(module.advance, "py_func")
    assert plain.state == pytest.approx(fast.state, rel=1e-9, abs=1e-15)
    assert plain.means_pct == pytest.approx(fast.means_pct, rel=1e-6)


@given(st.lists(st.tuples(st.floats(-9.0, 0.0), st.floats(-1.0, 1.0)), min_size=2, max_size=7))
def test_a_chain_is_turned_into_its_modes_as_scipy_turns_it(stores):
    rates = np.array([10.0**exponent for exponent, _ in stores])
    between = np.array([part * np.sqrt(a * b) for (_, part), a, b in zip(stores, rates, rates[1:], strict=False)])
    size = len(rates)
    values, couplings, vectors = rates.copy(), np.append(between, 0.0), np.empty((size, size))

    diagonalise(size, values, couplings, vectors)

    matrix = np.diag(rates) + np.diag(between, 1) + np.diag(between, -1)
    assert np.sort(values) == pytest.approx(eigh_tridiagonal(rates, between)[0], abs=1e-13 * rates.max())
    assert vectors.T @ vectors == pytest.approx(np.eye(size), abs=1e-12)
    assert vectors @ np.diag(values) @ vectors.T == pytest.approx(matrix, abs=1e-12 * rates.max())


@pytest.mark.parametrize("z", [0.0, 1e-12, 1e-4, 0.0199999, 0.0200001, 1.0, 50.0])
def test_phi_is_the_mean_and_the_mean_of_the_mean_of_an_exponential(z):
    # Against Gauss and Legendre on (1 - e^-z)/z = integral of e^-zs, and on its first moment.
    s, weight = np.polynomial.legendre.leggauss(60)
    s, weight = 0.5 * (s + 1.0), 0.5 * weight

    phi1, phi2 = phi(z)

    assert phi1 == pytest.approx(weight @ np.exp(-z * s), rel=1e-12)
    assert phi2 == pytest.approx(weight @ ((1.0 - s) * np.exp(-z * s)), rel=1e-11)
