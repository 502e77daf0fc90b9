"""The stiff solver itself: against closed forms, against SciPy on the same equations, and by its water."""

from __future__ import annotations

import hashlib
import math

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.linalg import expm
from years import by_scipy, enclosed, solved, store, year
from years.enclosed import DUBININ_ASTAKHOV, HENRY, Curve, Enclosed, Gel, Layer, Packets

pytest.importorskip("pvlib")

CASES = store.cases()
SAMPLE_H = 30
"""Hours of each case that SciPy solves again; which ones hangs on the file, and so moves when it is made anew."""
CLOSE_PCT = 1e-3


def steel(leak_per_day: float, air_m3: float) -> Layer:
    return Layer(leak_per_day / 86400.0 * air_m3, 0.0, 1.0 / 293.15, 0.0)


def constant(hours: int, temp_c: float, rh_pct: float):
    return np.full(hours, temp_c), np.full(hours, rh_pct)


def linear_gel(kg: float, slope: float) -> Gel:
    return Gel(kg, Curve(HENRY, (slope, 0.0, 0.0, 0.0)))


def test_dry_air_is_washed_out_as_an_exponential():
    # 0.1/h in 100 %RH: 100 (1 - exp(-0.1 n)); the program's own outside checks have the same figures.
    box = Enclosed((steel(2.4, 0.3),), (0.3,), 0.0, None, None)

    found = year.solve(box, *constant(3, 20.0, 100.0), year.State(np.array([0.0])))

    assert 100.0 * found.end == pytest.approx([9.52, 18.13, 25.92], abs=0.005)
    assert found.end == pytest.approx(1.0 - np.exp(-0.1 * np.arange(1, 4)), abs=1e-12)


def test_a_case_with_gel_follows_its_room_with_the_half_time_of_thomson_1977():
    # 20 kg/m3 at 2 g/(kg %RH), 20 degC: 160.4 d at 1/d, and so a tenth of it at 10/d. Studies in Conservation 22 (1977)
    # 85, worked out in the outside checks.
    gel = linear_gel(20.0, 0.2)
    box = Enclosed((steel(10.0, 1.0),), (1.0,), 0.0, Packets(1, 1e-5), gel)
    hours = 24 * 17

    found = year.solve(box, *constant(hours, 20.0, 60.0), year.in_balance(box, 20.0, 60.0, 0.0))

    half_days = np.interp(0.3, found.end, np.arange(1, hours + 1)) / 24.0
    assert half_days == pytest.approx(16.04, rel=0.005)


def test_linear_gel_behind_gaps_follows_the_matrix_exponential():
    layers, air, packet, gel = (steel(8.0, 2e-3), steel(20.0, 1e-3), steel(4.0, 3e-3)), (2e-3, 1e-3, 3e-3), 2e-10, 0.01
    box = Enclosed(layers, air, 1e-4, Packets(1, packet), linear_gel(gel, 0.4))
    psat = float(enclosed.psat_pa(20.0))
    g = [float(layer.conductance(20.0)) * psat for layer in layers]
    full, gp, outside = year.capacities_kg(box, 20.0), packet * psat, 0.6
    rate = np.array([
        [-(g[0] + g[1]) / full[0], g[1] / full[0], 0.0, 0.0],
        [g[1] / full[1], -(g[1] + g[2]) / full[1], g[2] / full[1], 0.0],
        [0.0, g[2] / full[2], -(g[2] + gp) / full[2], gp / full[2]],
        [0.0, 0.0, gp / (0.4 * gel), -gp / (0.4 * gel)],
    ])  # fmt: skip
    start = np.array([0.1, 0.9, 0.3, 0.05])
    state = year.State(start[:3] * full, q=0.4 * start[3])

    found = year.solve(box, *constant(20, 20.0, 60.0), state)

    exact = [outside + (expm(rate * 3600.0 * n) @ (start - outside))[2] for n in range(1, 21)]
    assert found.end == pytest.approx(exact, abs=1e-9)


def test_water_beyond_saturation_is_liquid_and_evaporates_at_the_rate_of_the_wall():
    # 2 g of liquid in 10 l at 20 degC, 1/d, 50 %RH outside: the leak carries half of 10 l of saturated air a day.
    box = Enclosed((steel(1.0, 0.01),), (0.01,), 0.0, None, None)
    vapour_kg = 0.01 * float(enclosed.csat_kg_per_m3(20.0))

    found = year.solve(box, *constant(24 * 30, 20.0, 50.0), year.State(np.array([vapour_kg + 0.002])))

    dry_h = np.flatnonzero(found.liquid_kg == 0.0)[0]
    assert dry_h == pytest.approx(24.0 * 0.002 / (0.5 * vapour_kg), abs=1.0)
    assert np.all(found.end[:dry_h] == 1.0)
    # Afterwards the plain exponential again, from the moment when the last water was gone.
    gone_h = 24.0 * 0.002 / (0.5 * vapour_kg)
    assert found.end[-1] == pytest.approx(0.5 + 0.5 * math.exp(-(720.0 - gone_h) / 24.0), abs=1e-9)


def test_gel_turns_at_the_end_of_its_loop_when_it_turns_and_not_when_somebody_looks():
    # The room dries while the gel takes up water: b rises from the turning point on.
    up, down = Curve(DUBININ_ASTAKHOV, (0.38, 480.0, 1.1, 0.0)), Curve(DUBININ_ASTAKHOV, (0.40, 560.0, 1.3, 0.0))
    gel = Gel(0.01, up, down)
    box = Enclosed((steel(50.0, 1e-3),), (1e-3,), 0.0, Packets(1, 1e-10), gel)
    temp_c, rh_pct = constant(48, 20.0, 70.0)
    rh_pct[24:] = 20.0

    found = year.solve(box, temp_c, rh_pct, year.in_balance(box, 20.0, 50.0, 0.15), keep_states=range(48))

    q = np.array([state.q for state in found.states.values()] + [found.last.q])
    b = np.array([state.b for state in found.states.values()] + [found.last.b])
    top = q.max()
    assert np.all(b[:25] == 0.0)
    # From the top on b is what was given off since, over the scan. The top lies within an hour.
    assert b[-1] == pytest.approx((top - q[-1]) / gel.scan, abs=1e-3)
    assert b[-1] > (q[25] - q[-1]) / gel.scan


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_the_file_says_what_the_equations_say(case):
    asked, kept = solved.question(case), solved.answers()[case.id]
    assert kept.fingerprint == asked.fingerprint(), "make it again with: python tests/years/solved.py"
    lot = int.from_bytes(hashlib.blake2b(solved.FILE.read_bytes() + case.id.encode()).digest()[:8], "little")
    first = sorted(kept.states)[lot % len(kept.states)]

    again = asked.solve_again(kept.states[first], first, SAMPLE_H, by=by_scipy.solve)

    span = slice(first, first + SAMPLE_H)
    assert kept.mean_pct[span] == pytest.approx(100.0 * again.mean, abs=CLOSE_PCT)
    assert kept.end_pct[span] == pytest.approx(100.0 * again.end, abs=CLOSE_PCT)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_the_states_in_the_file_join_up(case):
    # Between two kept states no water is made: what the wall let in over the year is what is stored in the end.
    asked, kept = solved.question(case), solved.answers()[case.id]
    gel_kg = 0.0 if asked.enclosed.gel is None else asked.enclosed.gel.kg

    def water(state):
        return state.water_kg.sum() + gel_kg * state.q

    if not any(isinstance(each, year.Open | year.Exchange) for events in asked.events.values() for each in events):
        stored = water(kept.last) - water(asked.start)
        given = asked.source_kg_per_s.sum() * 3600.0
        assert stored == pytest.approx(kept.inflow_kg + given, rel=1e-9, abs=1e-11)
    for hour, state in kept.states.items():
        if hour and hour not in asked.events:
            share = state.water_kg[-1] / year.capacities_kg(asked.enclosed, float(asked.temp_c[hour - 1]))[-1]
            assert 100.0 * min(share, 1.0) == pytest.approx(kept.end_pct[hour - 1], abs=CLOSE_PCT)


def test_inner_slopes_of_a_data_sheet_are_those_of_scipys_monotone_cubic():
    q, h = np.array([0.02, 0.06, 0.11, 0.25, 0.48]), np.array([0.1, 0.4, 0.6, 0.7, 1.0])

    table = enclosed.monotone_cubic(q, h)

    assert table[0] == pytest.approx([0.0, *q])
    assert table[2, 1:-1] == pytest.approx(PchipInterpolator(table[0], table[1]).derivative()(table[0])[1:-1])
    assert table[2, 0] == pytest.approx(0.1 / 0.02)


def test_a_tighter_tolerance_changes_nothing_that_counts():
    asked = solved.question(store.case("loop in fronts"))
    loose, tight = (
        asked.solve_again(solved.answers()["loop in fronts"].states[2920], 2920, 48, tolerance=tolerance)
        for tolerance in (1e-7, 1e-10)
    )

    assert 100.0 * np.abs(loose.end - tight.end).max() < 1e-4
    assert 100.0 * np.abs(loose.mean - tight.mean).max() < 1e-4
