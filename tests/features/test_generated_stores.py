"""Laws that every store keeps, on stores drawn at random within the bounds of the schema."""

from collections import Counter, defaultdict

import numpy as np
import pytest
from features import generated_store, little_store
from hypothesis import HealthCheck, given, settings

from simstore.prose.cautions import work_cautions
from simstore.results.metrics import metrics_of
from simstore.sim.run import simulate


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(store=generated_store.stores())
def test_whatever_happens_in_a_store_water_gel_packets_and_hours_are_accounted_for(store):
    record = simulate(store, "drawn", 0)

    the_books_close(record)
    no_packet_comes_or_goes_unseen(record)
    gel_is_bought_and_lost_as_the_rows_say(store, record)
    nobody_works_longer_than_the_session(record)
    days_are_counted(record)


def the_books_close(record):
    books = record.ledger
    assert books.water_error < 1e-9
    assert books.gel_error < 1e-9
    came_kg = (
        books.water_through_walls_kg + books.water_with_openings_kg + books.water_with_purchases_kg
        + books.water_regained_kg + books.water_from_objects_kg - books.water_driven_off_kg
        - books.water_lost_with_gel_kg
    )  # fmt: skip
    passed_kg = books.water_start_kg + books.water_end_kg + books.water_driven_off_kg + books.water_lost_with_gel_kg
    assert books.water_end_kg - books.water_start_kg == pytest.approx(came_kg, abs=1e-9 * passed_kg + 1e-15)
    assert books.gel_end_kg == pytest.approx(books.gel_start_kg + books.gel_bought_kg - books.gel_lost_kg, rel=1e-9)


def no_packet_comes_or_goes_unseen(record):
    totals = defaultdict(set)
    for day in record.stock:
        assert min(day.ready, day.spent, day.in_oven, day.in_enclosures, day.on_order, day.discarded) >= 0
        held = day.ready + day.spent + day.in_oven + day.in_enclosures + day.discarded + day.on_order
        ordered = [o for o in record.orders if o.packet == day.packet and o.ordered_min < (day.day + 1) * 1440]
        totals[day.packet].add(held - sum(order.packets for order in ordered))
    assert all(len(found) == 1 for found in totals.values())
    done = Counter(each.enclosure for each in record.exchanges)
    assert [done[n] for n in range(len(record.enclosures.id))] == record.enclosures.exchanges.tolist()


def gel_is_bought_and_lost_as_the_rows_say(store, record):
    books, given = record.ledger, store.settings
    last = [row for row in record.stock if row.day == record.stock[-1].day]
    gel_kg = water_kg = 0.0
    for row in last:  # nobody works in the night, so what is no longer on order has been taken in
        packet = given.packets[row.packet]
        taken_in = sum(order.packets for order in record.orders if order.packet == row.packet) - row.on_order
        gel_kg += taken_in * packet.gel_kg
        water_kg += taken_in * packet.gel_kg * given.sorbents[packet.sorbent].supplied_water_pct / 100.0
    assert books.gel_bought_kg == pytest.approx(gel_kg)
    assert books.water_with_purchases_kg == pytest.approx(water_kg)
    assert books.gel_lost_kg == pytest.approx(sum(row.lost_kg for row in last))
    dried = [load for load in record.loads if load.hot_min is not None]
    assert books.water_driven_off_kg == pytest.approx(sum(load.water_in_kg - load.water_out_kg for load in dried))


def nobody_works_longer_than_the_session(record):
    minutes = defaultdict(int)
    for each in record.staff:
        assert each.minutes >= 0
        minutes[each.technician, each.session_min] += each.minutes
    lengths = {180, 510, 1200, 45}  # of the sessions that people are drawn from
    assert set(minutes.values()) <= lengths


def days_are_counted(record):
    inside = record.enclosures.day_mean_rh_pct
    there = ~np.isnan(inside)
    assert (there.sum(axis=1) == record.enclosures.counted_days).all()
    assert (record.enclosures.held_days <= record.enclosures.counted_days).all()
    assert (inside[there] >= 0.0).all()


def test_air_over_wet_finds_in_a_tight_box_without_gel_is_saturated_at_most():
    box = {"layers": [{"film": "rigid_metal", "thickness_um": 1000.0, "area_m2": 0.3, "leak_per_day": 0.01}]}
    wet = {"box": box | {"object_water_g": 5.0, "release_days": 2.0}}
    record = little_store.live(little_store.row(packets=0, last_regenerated=little_store.START), days=20, kinds=wet)

    assert record.enclosures.worst_rh_pct.max() <= 100.0 + 1e-6
    # 5 g into 6 l of air that holds 0.1 g: drops stand inside from the first day to the last.
    assert record.enclosures.liquid_hours[0] > 19 * 24
    assert record.ledger.water_end_kg == pytest.approx(0.005, rel=0.05)
    metrics = {row.metric: row.value for row in metrics_of(record)}
    assert metrics["liquid_water_h"] == pytest.approx(record.enclosures.liquid_hours[0] * 365 / 20)


def test_drops_inside_are_a_caution_and_dry_air_is_none():
    settings = little_store.store(little_store.row()).settings

    wet = [each.action for each in work_cautions(settings, heats=True, handles=True, drips=True)]
    dry = [each.action for each in work_cautions(settings, heats=True, handles=True)]
    assert wet[0] == "Liquid water"
    assert wet[1:] == dry
