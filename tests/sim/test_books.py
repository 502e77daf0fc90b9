"""The books of whole runs: water, gel at every event, stock that is never negative, and luck that has names."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest
import simpy
from sim import stores

from simstore.scenario.values.housing import Enclosure
from simstore.sim import run
from simstore.sim.oven_loads import Unloading
from simstore.sim.reader import Reader
from simstore.sim.run import simulate
from simstore.units import MINUTES_PER_DAY

PLANS = [(name, plan) for name in ("tiny", "river_depot") for plan in stores.written(name).settings.plans]
LOSSY = {
    "sorbents.narrow_pore_orange.loss_per_cycle_pct": 2.0,
    "sorbents.narrow_pore_orange.fade_per_cycle_pct": 1.0,
    "packets.small.life_cycles": 2,
    "ovens.small.uneven_pct": 20.0,
    "stock.small.reorder_point": 6,
    "stock.small.order_quantity": 4,
}


@pytest.mark.parametrize(("name", "plan"), PLANS)
def test_water_and_gel_of_a_whole_run_are_accounted_for(name, plan):
    ledger = stores.lived(name, plan).ledger

    assert ledger.water_error < 1e-9
    assert ledger.gel_error < 1e-9
    # and again from the rows, without the run's own verdict
    came_kg = (
        ledger.water_through_walls_kg + ledger.water_with_openings_kg + ledger.water_with_purchases_kg
        + ledger.water_regained_kg - ledger.water_driven_off_kg - ledger.water_lost_with_gel_kg
    )  # fmt: skip
    assert ledger.water_end_kg - ledger.water_start_kg == pytest.approx(came_kg, abs=1e-9 * ledger.water_end_kg)
    assert ledger.gel_end_kg == pytest.approx(
        ledger.gel_start_kg + ledger.gel_bought_kg - ledger.gel_lost_kg, rel=1e-12
    )


class Watched(simpy.Environment):
    """An environment that calls somebody after every event."""

    after_each = staticmethod(lambda: None)

    def step(self) -> None:
        super().step()
        self.after_each()


@pytest.fixture
def watched(monkeypatch):
    """Run a plan with a check after every event; the check is given the site and the ovens."""

    def run_with(scenario, plan, check):
        events = 0
        real_open = run.open_site

        def open_site(*args, **kwargs):
            site = real_open(*args, **kwargs)

            def after_each():
                nonlocal events
                events += 1
                check(site, site.source(Unloading).units)

            site.env.after_each = after_each
            return site

        monkeypatch.setattr(simpy, "Environment", Watched)
        monkeypatch.setattr(run, "open_site", open_site)
        return run.simulate(scenario, plan), events

    return run_with


def parcels_everywhere(site, ovens):
    """Every packet, found on every shelf, in hands, in ovens and in enclosures."""
    shelves = site.stockroom.shelves.values()
    found = [p for shelf in shelves for pile in (shelf.ready, shelf.spent, shelf.dried) for p in pile]
    found += site.stockroom.in_hand
    found += [p for oven in ovens for p in oven.parcels]
    found += [p for inside in site.contents for p in inside]
    return found


@pytest.mark.parametrize(
    ("plan", "changes"),
    [("quarterly", {}), ("by_metal", LOSSY), ("two_ovens", LOSSY), ("strip", {}), ("by_metal", {"ovens.small.cooling": "bench"}),
     ("by_metal", {"plans.by_metal.without_packet": "go_without", "stock.small.ready": 0})],
    ids=["quarterly", "losses", "two ovens", "strip", "bench", "without"],
)  # fmt: skip
def test_kilograms_of_gel_are_conserved_at_every_event(watched, plan, changes):
    scenario = stores.written("tiny").with_changes(changes)
    start_kg = None
    totals = set()

    def check(site, ovens):
        nonlocal start_kg
        parcels = parcels_everywhere(site, ovens)
        assert len({id(p) for p in parcels}) == len(parcels), "one packet in two places"
        loose_kg = sum(shelf.loose_gel_kg for shelf in site.stockroom.shelves.values())
        books = site.stockroom.books
        owned_kg = sum(p.gel_kg for p in parcels) + loose_kg + books.gel_lost_kg - books.gel_bought_kg
        start_kg = owned_kg if start_kg is None else start_kg
        assert owned_kg == pytest.approx(start_kg, rel=1e-12)
        assert min(p.gel_kg for p in parcels) > 0
        assert min(p.water_kg for p in parcels) >= 0
        for shelf in site.stockroom.shelves.values():
            assert min(shelf.in_oven, shelf.in_enclosures, shelf.on_order, shelf.loose_gel_kg + 1e-15) >= 0
            sort = [p for p in parcels if site.stockroom.shelves[p.sort] is shelf]
            lying = len(shelf.ready) + len(shelf.spent) + len(shelf.dried)
            assert shelf.in_oven + shelf.in_enclosures == len(sort) - lying
        totals.add(round(books.gel_lost_kg, 12))

    record, events = watched(scenario, plan, check)

    assert events > 1000
    assert record.ledger.gel_error < 1e-12
    if changes is LOSSY:
        assert len(totals) > 3
        assert sum(row.discarded for row in record.stock[-1:]) > 0


@pytest.mark.parametrize(("name", "plan"), PLANS)
def test_no_stock_is_ever_negative_and_every_packet_is_counted(name, plan):
    record = stores.lived(name, plan)

    for row in record.stock:
        assert min(row.ready, row.spent, row.in_oven, row.in_enclosures, row.on_order, row.discarded) >= 0
    packets = {}
    for row in record.stock:
        count = row.ready + row.spent + row.in_oven + row.in_enclosures + row.discarded + row.on_order
        ordered = sum(
            o.packets for o in record.orders
            if o.packet == row.packet and o.ordered_min < (row.day + 1) * MINUTES_PER_DAY
        )  # fmt: skip
        packets.setdefault(row.packet, set()).add(count - ordered)
    assert all(len(counts) == 1 for counts in packets.values())


def same(a, b) -> bool:
    """Whether two records are equal to the last bit."""
    if isinstance(a, np.ndarray):
        return a.dtype == b.dtype and a.shape == b.shape and np.array_equal(a, b)
    if is_dataclass(a):
        return type(a) is type(b) and all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    if isinstance(a, list | tuple):
        return len(a) == len(b) and all(map(same, a, b))
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(same(a[key], b[key]) for key in a)
    return a == b


@pytest.mark.parametrize("plan", ["by_metal", "strip"])
def test_the_same_seed_gives_the_same_record(plan):
    scenario = stores.written("tiny")

    assert same(simulate(scenario, plan, 2), stores.lived("tiny", plan, 2))


def test_another_seed_or_replication_gives_another_record():
    scenario = stores.written("tiny")
    other = scenario.with_changes({"seed": 8})

    record = stores.lived("tiny", "by_metal")

    for another in (simulate(scenario, "by_metal", 1), simulate(other, "by_metal", 0)):
        assert not np.array_equal(another.enclosures.leak_per_day, record.enclosures.leak_per_day)
        assert not np.array_equal(another.room_rh_pct, record.room_rh_pct)


def test_a_replication_alone_is_the_one_in_a_batch():
    scenario = stores.written("tiny")

    batch = [simulate(scenario, "strip", number) for number in (0, 1, 2)]

    assert same(batch[2], stores.lived("tiny", "strip", 2))


def test_plans_share_their_leaks_and_weather():
    calendar, reading = stores.lived("tiny", "quarterly", 1), stores.lived("tiny", "strip", 1)

    assert np.array_equal(calendar.enclosures.leak_per_day, reading.enclosures.leak_per_day)
    assert np.array_equal(calendar.room_rh_pct, reading.room_rh_pct)


def with_one_more(scenario):
    late = Enclosure(id="Z999", kind="clip_box", metal="iron", place="zz")
    return replace(scenario, enclosures=(*scenario.enclosures, late))


def with_help(scenario):
    people = dict(scenario.settings.technicians)
    people["zoe"] = people["anna"].model_copy(update={"sessions": ("Fri 09:00-12:00",)})
    return replace(scenario, settings=scenario.settings.model_copy(update={"technicians": people}))


def with_oven(scenario):
    return scenario.with_changes({"ovens.small.count": 2})


@pytest.mark.parametrize("change", [with_one_more, with_help, with_oven])
def test_another_enclosure_technician_or_oven_changes_nobodys_leak_or_weather(change):
    scenario = stores.written("tiny")
    count = len(scenario.enclosures)

    record, another = stores.lived("tiny", "strip", 1), simulate(change(scenario), "strip", 1)

    assert np.array_equal(another.enclosures.leak_per_day[:count], record.enclosures.leak_per_day)
    assert np.array_equal(another.enclosures.wall_kg_per_s_pa[:count], record.enclosures.wall_kg_per_s_pa)
    assert np.array_equal(another.room_rh_pct, record.room_rh_pct)
    assert np.array_equal(another.room_temp_c, record.room_temp_c)


@pytest.mark.parametrize("change", [with_one_more, with_help, with_oven])
def test_another_enclosure_technician_or_oven_changes_nobodys_luck_in_reading(change):
    # The strip turns between 5 and 15 %RH, so with gel at about 10 %RH what is called is luck.
    settled = stores.written("tiny").with_changes({"seed": 5})
    rows = tuple(row.model_copy(update={"gel_water_pct": 8.5, "last_regenerated": None}) for row in settled.enclosures)
    scenario = replace(settled, enclosures=rows)
    alone = run.open_site(scenario, "strip", 0)
    other = run.open_site(change(scenario), "strip", 0)
    everybody = list(range(len(rows)))

    first, second = Reader(alone), Reader(other)
    ours = [first.read(everybody) for _ in range(20)]
    theirs = []
    for _ in range(20):
        second.read([len(other.rows) - 1] * (len(other.rows) > len(rows)))
        theirs.append([second.read([i])[0] for i in reversed(everybody)][::-1])

    assert theirs == ours
    assert 0.1 < np.mean(ours) < 0.9


EVERYTHING = """
[climate]
temp_noise_c = 0.8
rh_noise_pct = 4.0
year_sd_c = 0.5
year_sd_rh_pct = 2.0

[climate.room]
volume_m3 = 60
moisture_gain_g_per_h = 20
dehumidify_to_pct = 55
dehumidifier_kg_per_day = 3

[metals.copper]
label = "copper"
ceiling_rh_pct = 38.0

[sorbents.loop_gel]
label = "gel with a loop, beads and granules unmixed"
granule_pct = 50.0
granule_loss_per_cycle_pct = 4.0
loss_per_cycle_pct = 1.0
fade_per_cycle_pct = 1.0
blended = false

[sorbents.loop_gel.isotherm]
form = "data_sheet"
points = [[10, 0.064], [20, 0.111], [30, 0.163], [40, 0.224], [50, 0.288], [60, 0.346], [80, 0.410]]

[sorbents.loop_gel.desorption]
form = "data_sheet"
points = [[10, 0.079], [20, 0.128], [30, 0.183], [40, 0.313], [50, 0.358], [60, 0.389], [80, 0.416]]

[packets.looped]
label = "0.2 kg"
sorbent = "loop_gel"
gel_kg = 0.2
life_cycles = 2

[technicians.anna]
sessions = ["Tue 09:00-12:30", "Thu 13:00-16:30"]
sick_days_per_year = 30.0
training_weeks = 4

[technicians.ben]
sessions = ["Thu 13:00-16:00"]

[ovens.small]
count = 2
trays = 2
tray_area_m2 = 0.07
cooling = "bench"
cool_h = 12
uneven_pct = 20.0
failures_per_year = 6.0
repair_days = 5.0
least_load_pct = 30.0

[stock.small]
ready = 4
reorder_point = 5
order_quantity = 3

[stock.looped]
ready = 4
spent = 2
reorder_point = 4
order_quantity = 3

[plans.watchful]
label = "strip"
rule = "reading"
indicator = "strip_10"
cadence_weeks = 2
without_packet = "go_without"

[[visits]]
metal = "iron"
visits_per_year = 80

[[arrivals]]
arrives = 2026-02-03
kind = "padded_box"
metal = "copper"
count = 3
object_water_g = 20

[[rehousing]]
starts = 2026-03-02
replace = { triple_bag = "box" }

[[incidents]]
what = "power_cut"
starts = 2026-02-10
days = 3

[[incidents]]
what = "person_away"
starts = 2026-03-20
days = 5
name = "anna"
"""


def test_the_books_close_and_gel_is_conserved_at_every_event_when_everything_happens_at_once(watched):
    rows = tuple(
        Enclosure(
            id=f"E{n}",
            kind=("box", "triple_bag", "padded_box")[n % 3],
            metal="copper" if n % 4 == 3 else "iron",
            packet="looped" if n % 3 == 0 else "small",
            packets=1,
            leak_per_day=1.0 + 3.0 * n,
            gel_water_pct=None if n == 2 else 3.0 + n,
        )
        for n in range(9)
    )
    failing = {"kinds.box.failures_per_year": 6.0, "kinds.triple_bag.failures_per_year": 6.0, "days": 150}
    scenario = stores.store(EVERYTHING, rows, failing)
    scenario = replace(scenario, settings=scenario.settings.model_copy(update={"watch": ("E0",)}))
    start_kg = None

    def check(site, ovens):
        nonlocal start_kg
        parcels = parcels_everywhere(site, ovens)
        assert len({id(p) for p in parcels}) == len(parcels), "one packet in two places"
        loose_kg = sum(shelf.loose_gel_kg for shelf in site.stockroom.shelves.values())
        books = site.stockroom.books
        owned_kg = sum(p.gel_kg for p in parcels) + loose_kg + books.gel_lost_kg - books.gel_bought_kg
        start_kg = owned_kg if start_kg is None else start_kg
        assert owned_kg == pytest.approx(start_kg, rel=1e-12)
        assert min(p.water_kg for p in parcels) >= 0
        for shelf in site.stockroom.shelves.values():
            assert min(shelf.in_oven, shelf.in_enclosures, shelf.on_order) >= 0

    record, events = watched(scenario, "watchful", check)

    assert record.ledger.water_error < 1e-9
    assert record.ledger.gel_error < 1e-9
    tasks = {row.task for row in record.staff}
    assert tasks >= {"exchange", "load", "unload", "prepare", "inspect", "visit", "rehouse", "replace", "receive"}
    assert {mishap.what for mishap in record.mishaps} >= {"oven"}
    assert record.ledger.water_from_objects_kg > 0
    assert record.ledger.water_regained_kg > 0
    assert np.isfinite(record.watched["E0"]).all()
    assert events > 1000
