"""Ovens: size, depth, attendance, cooling, breakdowns and energy."""

import math
from datetime import date

import numpy as np
import pytest
from features import little_store as shop
from scipy import stats

from simstore.sim.line_up import SOURCES

WET = {"p": {"ready": 0, "spent": 200, "ready_gain_pct_per_year": 0.0}}

HANDLING = {source.task for source in SOURCES if source.handling}


def dried(days=14, spent=200, **oven):
    """Two weeks of drying many spent packets and nothing else; the loads that were finished."""
    record = shop.live(
        shop.row(packets=0), days=days, stock={"p": WET["p"] | {"spent": spent}}, ovens={"o": shop.OVEN | oven}
    )
    return [load for load in record.loads if load.unloaded_min is not None], record


def test_ovens_of_different_size_take_what_their_trays_hold():
    record = shop.live(
        shop.row(packets=0),
        days=14,
        stock=WET,
        ovens={"small": shop.OVEN | {"trays": 1}, "large": shop.OVEN | {"trays": 4, "bed_depth_mm": 30.0}},
    )
    # trays x 0.1 m2 x depth x 700 kg/m3 over 0.25 kg, rounded down: 1.4 kg and 8.4 kg
    most = {name: max(load.packets for load in record.loads if load.oven == name) for name in ("small", "large")}
    assert most == {"small": 5, "large": 33}


def test_a_bed_twice_as_deep_dries_at_half_the_rate():
    # First order: q = qe + (q0 - qe) exp(-k t) with k as 1/depth, so the logarithm of what is left doubles.
    def left(depth_mm):
        loads, _ = dried(bed_depth_mm=depth_mm, cycle_h=2.0)
        load = loads[0]
        room_pa = 0.5 * shop.PSAT_20_C_PA
        end = shop.water_on_gel(room_pa / 116.7e3, 377.15)  # saturation at 104 degC, steam tables (memory, unverified)
        return math.log((load.water_out_kg / load.gel_kg - end) / (load.water_in_kg / load.gel_kg - end))

    assert left(20.0) / left(40.0) == pytest.approx(2.0, rel=1e-3)


def test_warm_up_comes_on_top_of_the_hours_at_temperature():
    loads, _ = dried(warm_up_min=50.0, cycle_h=3.0)

    assert len(loads) > 5
    assert {load.hot_min - load.loaded_min for load in loads} == {50 + 180}


SHIFTS = {
    "anna": {"sessions": [f"{day} 09:00-13:00" for day in ("Mon", "Tue", "Wed", "Thu", "Fri")]},
    "ben": {"sessions": [f"{day} 12:30-18:00" for day in ("Mon", "Tue", "Wed", "Thu", "Fri")]},
}


def test_an_attended_oven_is_hot_only_while_somebody_is_there_and_so_dries_less():
    record = {
        attended: shop.live(
            shop.row(packets=0),
            days=28,
            stock=WET,
            technicians=SHIFTS,
            ovens={"o": shop.OVEN | {"trays": 1, "attended": attended, "cycle_h": 5.0, "cool_h": 0.5}},
        )
        for attended in (True, False)
    }

    hot = [(load.loaded_min % shop.DAY, load.hot_min % shop.DAY) for load in record[True].loads]
    assert len(hot) > 10
    assert all(9 * 60 <= begun < ended <= 18 * 60 for begun, ended in hot)
    assert any(load.loaded_min % shop.DAY + 45 + 5 * 60 > 18 * 60 for load in record[False].loads)
    assert len(record[True].loads) < 0.7 * len(record[False].loads)


def test_an_attended_oven_that_nobody_could_stay_with_is_refused():
    _, found = shop.findings(
        shop.row(), ovens={"o": shop.OVEN | {"attended": True}}, technicians={"anna": {"sessions": ["Tue 09:00-12:00"]}}
    )

    assert len(found) == 1
    assert "ovens.o.attended" in found[0]


def test_cooling_in_the_oven_keeps_it_busy_and_a_sealed_container_frees_it():
    loads = {way: dried(cooling=way, cool_h=6.0, cycle_h=2.0)[0] for way in ("in_oven", "sealed")}

    assert {load.cool_min - load.hot_min for load in loads["in_oven"]} == {360}
    assert all(load.cool_min - load.hot_min in (360, load.unloaded_min - load.hot_min) for load in loads["sealed"])
    assert len(loads["sealed"]) > len(loads["in_oven"])


def test_the_open_bench_gives_water_back_and_the_other_ways_do_not():
    found = {way: dried(cooling=way, cycle_h=5.0, cool_h=4.0, set_c=140.0)[1] for way in ("in_oven", "sealed", "bench")}

    assert found["in_oven"].ledger.water_regained_kg == found["sealed"].ledger.water_regained_kg == 0.0
    regained = found["bench"].ledger.water_regained_kg
    loads = [load for load in found["bench"].loads if load.unloaded_min is not None]
    # At most what still air between the beads lets through half the depth, from the room's vapour to none, in the time
    # on the bench: quarter of the free diffusivity (porosity 0.4, Bruggeman), half of the 20 mm.
    bed = 0.4**1.5 * 2.471e-5 * (shop.T_20_C / 298.15) ** 1.75 / (shop.R_VAPOUR * shop.T_20_C)
    open_s = sum(60 * (load.cool_min - load.unloaded_min) for load in loads)
    most_kg = 0.4 * bed / 0.010 * 0.5 * shop.PSAT_20_C_PA * open_s
    assert open_s > 0
    assert 0.2 * most_kg < regained < most_kg


def test_a_measured_residual_stands_in_for_the_drying_model():
    loads, _ = dried(residual_pct=3.0, cycle_h=2.0)

    assert [load.water_out_kg / load.gel_kg for load in loads] == pytest.approx([0.03] * len(loads))


def test_energy_is_casing_loss_warming_and_a_heat_of_desorption_between_measured_ones():
    lossy, lossless = (dried(casing_w=watts)[0][0] for watts in (250.0, 0.0))

    # 250 W over 45 min of warming up and 7 h
    assert lossy.energy_kwh - lossless.energy_kwh == pytest.approx(0.250 * 7.75)
    driven = lossless.water_in_kg - lossless.water_out_kg
    # 922 and 4186 J/(kg K) over 84 K (values from memory, unverified)
    sensible = (lossless.gel_kg * 922.0 + lossless.water_in_kg * 4186.0) * 84.0
    heat_kj_per_kg = (lossless.energy_kwh * 3.6e6 - sensible) / driven / 1e3
    # Wang and LeVan 2009 by Clausius-Clapeyron: 2328 kJ/kg at q 0.19 to 2721 at q 0.018, at 25 degC; the latent heat of
    # water falls by 0.19 MJ/kg from there to 104 degC (steam tables, from memory, unverified)
    assert 2328 - 190 < heat_kj_per_kg < 2721


def test_breakdowns_come_at_their_rate_and_last_as_long_as_their_repair():
    scenario = shop.store(
        shop.row(packets=0),
        days=365 * 10,
        technicians={"anna": {"sessions": ["Mon 09:00-10:00"]}},
        ovens={"o": shop.OVEN | {"count": 12, "failures_per_year": 2.0, "repair_days": 10.0, "repair_price": 80.0}},
    )
    record = shop.run(scenario)

    mishaps = [m for m in record.mishaps if m.what == "oven"]
    # Each of twelve ovens: 10 years of runs of half a year and repairs of 10 days; a Poisson count is no narrower.
    expected = 12 * 10 * 365 / (365 / 2 + 10)
    low, high = stats.poisson.interval(0.99, expected)
    assert low <= len(mishaps) <= high
    assert {m.mended_min - m.minute for m in mishaps if m.mended_min is not None} == {10 * shop.DAY}
    assert shop.costs(record)["repairs: o"] == pytest.approx(80.0 * len(mishaps) / 10, abs=0.01)


def test_no_load_is_started_while_an_oven_is_broken_and_each_one_that_breaks_down_is_heated_again():
    record = shop.live(
        *(shop.row(f"A{n}", leak_per_day=20.0) for n in range(30)),
        plan="work",
        days=365,
        stock=WET,
        ovens={"o": shop.OVEN | {"failures_per_year": 50.0, "repair_days": 0.4}},
    )

    spans = [(m.minute, m.mended_min or 365 * shop.DAY) for m in record.mishaps]
    begun = [load for load in record.loads if load.hot_min is not None]
    running = 45 + 7 * 60
    again = 0
    for load in begun:
        assert not any(first <= load.loaded_min - 20 < last for first, last in spans)
        struck = [span for span in spans if load.loaded_min < span[1] and span[0] < load.loaded_min + running]
        again += bool(struck)
        assert load.hot_min - load.loaded_min == running if not struck else load.hot_min >= struck[0][1] + running
    assert again >= 1


def test_a_power_cut_stops_the_oven_and_the_load_is_heated_again_for_more_energy():
    cut = {"what": "power_cut", "starts": date(2026, 1, 2), "days": 1.0, "shift_rh_pct": 0.0}
    # The first load heats from Thursday morning past midnight, into the cut.
    oven = shop.OVEN | {"cycle_h": 20.0, "casing_w": 250.0}
    with_cut, without = (
        shop.live(shop.row(packets=0), days=14, stock=WET, ovens={"o": oven}, incidents=incidents)
        for incidents in ([cut], [])
    )

    struck, plain = with_cut.loads[0], without.loads[0]
    assert struck.loaded_min == plain.loaded_min
    assert plain.hot_min > shop.DAY  # it would have been hot past midnight
    assert struck.hot_min == 2 * shop.DAY + 45 + 20 * 60
    lost_h = (shop.DAY - struck.loaded_min) / 60
    assert struck.energy_kwh - plain.energy_kwh == pytest.approx(0.250 * lost_h, rel=0.05)


def test_hands_are_needed_for_loading_and_unloading_only():
    loads, record = dried(days=7, cycle_h=2.0)
    minutes = shop.task_minutes(record)

    assert minutes["load"] == 20 * len(record.loads)
    assert minutes["unload"] == 15 * len(loads)
    assert set(minutes) & HANDLING <= {"load", "unload", "prepare"}
    assert np.all(np.diff([load.loaded_min for load in record.loads]) >= 45 + 120)
