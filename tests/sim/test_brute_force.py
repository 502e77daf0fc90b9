"""The simulation against a model by brute force that shares no code with it (see brute_force.py)."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from sim import stores
from sim.brute_force import Store

from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.sorbents import DubininAstakhov
from simstore.sim.run import simulate

FORMULA = DubininAstakhov(capacity_kg_per_kg=0.38, energy_j_per_mol=3962.2, exponent=1.1)
RH_ERROR_PCT = 0.05  # %RH, the promise of the step; see tests/years
DAYS = 80

BUSY = """
[climate]
temp_mean_c = 17.0
temp_swing_c = 5.0
temp_noise_c = 0.0
rh_mean_pct = 60.0
rh_noise_pct = 0.0

[metals.copper]
label = "copper"
ceiling_rh_pct = 38.0

[technicians.anna]
sessions = ["Tue 09:00-11:30", "Thu 13:00-15:30"]
leave = [[2026-02-10, 2026-02-20]]
handling_limit_h_per_day = 2.0

[technicians.ben]
sessions = ["Thu 14:00-16:00"]
starts = 2026-01-20

[ovens.small]
trays = 2
tray_area_m2 = 0.07
bed_depth_mm = 18
set_c = 110
cycle_h = 6
cool_h = 5
least_load_pct = 60.0

[tasks]
gear_min = 4
exchange_min = 7.5
load_min = 11
unload_min = 8
prepare_min = 1.7
receive_min = 13

[stock.small]
ready = 5
spent = 2
reorder_point = 12
order_quantity = 4
lead_days = 17.3

[plans.calendar]
label = "calendar"
rule = "calendar"
cadence_weeks = { iron = 3, copper = 8 }

[plans.forecast]
label = "forecast"
rule = "forecast"
cadence_weeks = 2
trigger_pct = 60
leak_knowledge = "exact"
"""


def busy_store(changes=None):
    start = date(2026, 1, 1)
    rows = tuple(
        Enclosure(
            id=f"E{n:02d}",
            kind=("box", "triple_bag", "padded_box")[n % 3],
            metal="iron" if n % 4 else "copper",
            packet="small",
            packets=1 + n % 2,
            leak_per_day=0.7 + 0.9 * n,
            last_regenerated=start - timedelta(days=7 * n),
            gel_water_pct=2.0 + 0.7 * n,
            volume_m3=0.004 + 0.001 * n,
        )
        for n in range(14)
    )
    made = stores.store(BUSY, rows, {"days": DAYS, **(changes or {})})
    return replace(made, settings=made.settings.model_copy(update={"holidays": (date(2026, 3, 5),)}))


VARIANTS = {
    "calendar": ("calendar", {}),
    "two ovens, sealed": ("calendar", {"ovens.small.count": 2, "ovens.small.cooling": "sealed"}),
    "attended": ("calendar", {"ovens.small.attended": True, "ovens.small.cycle_h": 1.0, "ovens.small.warm_up_min": 20.0}),
    "losses": (
        "calendar",
        {
            "sorbents.narrow_pore.loss_per_cycle_pct": 3.0,
            "sorbents.narrow_pore.fade_per_cycle_pct": 2.0,
            "stock.small.ready_gain_pct_per_year": 5.0,
        },
    ),
    "no oven": ("calendar", {"ovens.small.count": 0, "stock.small.order_quantity": 9}),
    "forecast": ("forecast", {}),
}  # fmt: skip


@pytest.fixture(scope="module", params=VARIANTS, ids=lambda name: name.replace(" ", "_"))
def pair(request):
    plan, changes = VARIANTS[request.param]
    scenario = busy_store(changes)
    return simulate(scenario, plan), Store(scenario, plan, DAYS).live()


def test_every_exchange_comes_at_the_same_minute(pair):
    record, brute = pair

    ours = [(e.minute, e.enclosure, e.technician, e.due_min) for e in record.exchanges]
    assert ours == [row[:4] for row in brute.exchanges]
    assert len(ours) > 5


def test_every_load_is_the_same_to_the_minute(pair):
    record, brute = pair

    ours = [(x.oven, x.loaded_min, x.packets, x.hot_min, x.cool_min, x.unloaded_min) for x in record.loads]
    theirs = [
        (x["oven"], x["loaded"], x["packets"], *(x.get(k) for k in ("hot", "cool", "unloaded"))) for x in brute.loads
    ]
    assert ours == theirs
    assert record.loads or not brute.ovens


def test_orders_and_stock_are_the_same_on_every_day(pair):
    record, brute = pair

    assert [(o.ordered_min, o.packet, o.packets) for o in record.orders] == brute.orders
    last = [row for row in record.stock if row.packet == "small"][-1]
    assert (last.ready, last.in_oven, last.on_order) == (
        len(brute.ready["small"]), brute.in_oven["small"], brute.on_order["small"],
    )  # fmt: skip
    assert last.spent == len(brute.spent["small"]) + len(brute.dried["small"])


def test_people_spend_the_same_minutes(pair):
    record, brute = pair

    ours = Counter()
    for row in record.staff:
        ours[row.technician, row.task] += row.minutes
    theirs = {(p.name, task): minutes for p in brute.people for task, minutes in p.spent.items()}
    assert {key: n for key, n in ours.items() if n} == {key: n for key, n in theirs.items() if n}


def test_gel_in_the_books_is_the_same(pair):
    record, brute = pair

    assert record.ledger.gel_start_kg == pytest.approx(brute.gel_start_kg, rel=1e-12)
    assert record.ledger.gel_end_kg == pytest.approx(brute.gel_kg(), rel=1e-6)
    assert record.ledger.gel_lost_kg == pytest.approx(brute.lost_kg, rel=1e-6, abs=1e-15)


def test_humidity_and_held_days_are_the_same_within_the_solvers_error(pair):
    record, brute = pair
    year = record.enclosures

    assert np.abs(year.day_mean_rh_pct - brute.day_mean).max() < RH_ERROR_PCT
    near = np.abs(brute.day_mean - 100 * brute.ceiling[:, None]) < RH_ERROR_PCT
    assert np.all(np.abs(year.held_days - brute.held_days) <= near.sum(axis=1))
    assert year.held_days.sum() == brute.held_days.sum()
    assert year.hours_over.sum() == pytest.approx(brute.hours_over.sum(), rel=0.01, abs=3)


def test_water_and_energy_are_the_same_within_the_solvers_error(pair):
    record, brute = pair

    ours = [(e.water_in_pct) for e in record.exchanges]
    assert ours == pytest.approx([row[4] for row in brute.exchanges], rel=1e-3)
    finished = [(a, b) for a, b in zip(record.loads, brute.loads, strict=True) if "energy" in b]
    assert [a.water_in_kg for a, _ in finished] == pytest.approx([b["water_in"] for _, b in finished], rel=1e-3)
    assert [a.energy_kwh for a, _ in finished] == pytest.approx([b["energy"] for _, b in finished], rel=3e-4)


def test_energy_of_a_load_is_the_same_to_a_millionth_for_the_same_water():
    # Spent packets that lay there from the start: their water owes nothing to the solver.
    scenario = busy_store({"stock.small.spent": 3, "ovens.small.least_load_pct": 0.0, "days": 20})
    record, brute = simulate(scenario, "calendar"), Store(scenario, "calendar", 20).live()

    assert record.loads[0].water_in_kg == pytest.approx(brute.loads[0]["water_in"], rel=1e-9)
    assert record.loads[0].energy_kwh == pytest.approx(brute.loads[0]["energy"], rel=1e-6)
    assert record.loads[0].water_out_kg == pytest.approx(brute.loads[0]["water_out"], rel=1e-6)


def test_the_written_tiny_store_without_its_luck_is_the_same_for_four_months():
    changes = {
        "days": 120,
        "climate.temp_noise_c": 0.0,
        "climate.rh_noise_pct": 0.0,
        **{f"kinds.triple_bag.layers.{n}.leak_per_day": 3.0 for n in range(3)},
        "kinds.clip_box.layers.0.leak_per_day": 1.5,
    }
    scenario = stores.written("tiny").with_changes(changes)
    rows = tuple(e.model_copy(update={"gel_water_pct": e.gel_water_pct or 5.0}) for e in scenario.enclosures)
    # The other model knows no table: the gel of Sapienza et al. 2017, as in the other stores.
    gels = {name: gel.model_copy(update={"isotherm": FORMULA}) for name, gel in scenario.settings.sorbents.items()}
    settings = scenario.settings.model_copy(update={"sorbents": gels})
    scenario = replace(scenario, enclosures=rows, settings=settings)

    record, brute = simulate(scenario, "by_metal"), Store(scenario, "by_metal", 120).live()

    assert [(e.minute, e.enclosure) for e in record.exchanges] == [row[:2] for row in brute.exchanges]
    assert [x.unloaded_min for x in record.loads] == [x.get("unloaded") for x in brute.loads]
    assert record.enclosures.held_days.tolist() == brute.held_days.tolist()
