"""What the objects are kept in: walls, packets, packing and gel, each by the amount that its formula gives."""

import math

import numpy as np
import pytest
from features import little_store as shop

from simstore.store.housed import shared_among_layers
from simstore.store.passages import one_packet

# Permeabilities: DIN 55474 for polythene (4.66e-16 at 20 degC), measured upper end for the laminate (1.7e-18 at 38 degC,
# 26 kJ/mol), as the reference values have them.
LDPE = 4.66e-16
LAMINATE = shop.arrhenius(1.7e-18, 38.0, 26.0)
EMPTY_M3 = 0.01 * 0.6


def layer(film, um, leak, gap=None):
    each = {"film": film, "thickness_um": um, "area_m2": 0.3, "leak_per_day": leak}
    return each if gap is None else each | {"gap_m3": gap}


def bag(*layers, **more):
    return {"kinds": {"box": {"form": "bag", "layers": list(layers), **more}}}


def test_nested_bags_resist_one_after_the_other_each_with_its_own_film_and_seal():
    three = bag(layer("ldpe", 100.0, 4.0, 0.002), layer("foil_laminate", 100.0, 2.0, 0.001), layer("ldpe", 50.0, 6.0))
    record = shop.live(shop.row(), watch=["A"], **three)

    each = [
        LDPE * 0.3 / 100e-6 + shop.leak_kg_per_s_pa(4.0, 0.002),
        LAMINATE * 0.3 / 100e-6 + shop.leak_kg_per_s_pa(2.0, 0.001),
        LDPE * 0.3 / 50e-6 + shop.leak_kg_per_s_pa(6.0, EMPTY_M3),
    ]
    whole = 1 / sum(1 / g for g in each)
    assert record.enclosures.wall_kg_per_s_pa[0] == pytest.approx(whole, rel=1e-6)
    inside = float(record.watched["A"].mean()) / 100
    expected_kg = whole * shop.PSAT_20_C_PA * (0.5 - inside) * 60 * 86400
    assert record.ledger.water_through_walls_kg == pytest.approx(expected_kg, rel=1e-4)


def test_a_sound_metal_wall_leaks_only_through_its_seal_and_a_laminate_hardly_more():
    def wall(film):
        return float(shop.live(shop.row(), days=1, **bag(layer(film, 100.0, 0.01))).enclosures.wall_kg_per_s_pa[0])

    seal = shop.leak_kg_per_s_pa(0.01, EMPTY_M3)
    assert wall("rigid_metal") == pytest.approx(seal, rel=1e-9)
    assert wall("foil_laminate") - seal == pytest.approx(LAMINATE * 0.3 / 100e-6, rel=1e-6)
    assert wall("ldpe") - seal == pytest.approx(LDPE * 0.3 / 100e-6, rel=1e-6)


PACKETS = {
    "flat": {"perforation_pct": 0.1},
    "heaped": {"perforation_pct": 0.1, "laid": "heaped"},
    "fewer holes": {"perforation_pct": 0.01},
    "open tray": {"film_um": 0.0, "faces": 1},
}


def hours_over_after_packing(**packet):
    big = {"packets": {"p": packet}, "kinds": {"box": {"volume_m3": 0.1}}, "stock": {"p": {"ready": 1}}}
    return int(shop.live(shop.row(leak_per_day=0.02), days=14, **big).enclosures.hours_over[0])


def test_a_flat_well_perforated_packet_dries_the_air_sooner_than_a_heaped_or_a_closed_one():
    hours = {name: hours_over_after_packing(**packet) for name, packet in PACKETS.items()}

    assert hours["open tray"] < hours["flat"] < hours["heaped"] < hours["fewer holes"]
    assert hours["heaped"] > 1.5 * hours["flat"]


def test_a_heaped_tray_of_loose_gel_passes_a_quarter_of_a_flat_one():
    # Twice the depth on half the area, with nothing but the bed in the way.
    def conductance(laid):
        tray = {"film_um": 0.0, "faces": 1, "laid": laid}
        settings = shop.store(shop.row(), packets={"p": tray}).settings
        return one_packet(settings, settings.packets["p"], 20.0)

    depth = 0.25 / (0.0225 * 700)
    still_air = 2.471e-5 * (T / 298.15) ** 1.75 / (shop.R_VAPOUR * T)  # Monteith and Unsworth 2013
    bed = 0.4**1.5 * still_air
    assert conductance("flat") == pytest.approx(0.0225 * bed / (depth / 2), rel=1e-6)
    assert conductance("flat") / conductance("heaped") == pytest.approx(4.0, rel=1e-12)


T = shop.T_20_C
CARTRIDGE = 2e-12
"""Measured conductance; with 20 kg of gel in a large box the gel's own humidity hardly changes."""


def drying_down(ceiling_pct=15.0, ready=1):
    """Mean of every hour after the first exchange, and the record: the air of the room, then gel at 2 % of water."""
    record = shop.live(
        shop.row(leak_per_day=0.02),
        days=20,
        watch=["A"],
        metals={"iron": {"ceiling_rh_pct": ceiling_pct}},
        kinds={"box": {"volume_m3": 0.1}},
        packets={"p": {"gel_kg": 20.0, "conductance_kg_per_s_pa": CARTRIDGE}},
        stock={"p": {"ready": ready, "ready_gain_pct_per_year": 0.0}},
    )
    opened_h = record.exchanges[0].minute // 60 if ready else 0
    return record, record.watched["A"][opened_h:].astype(float)


def closed_form():
    """Time constant [h] and end of the fall of the RH inside, from the two conductances and the water of the air."""
    wall, packet = shop.leak_kg_per_s_pa(0.02, 0.06), CARTRIDGE
    tau_h = 0.06 * shop.CSAT_20_C_KG_PER_M3 / ((wall + packet) * shop.PSAT_20_C_PA) / 3600
    return tau_h, 100 * (wall * 0.5 + packet * shop.rh_over_gel(0.02)) / (wall + packet)


def test_a_cartridge_with_a_measured_conductance_dries_the_air_along_the_closed_form():
    _, found = drying_down()
    tau, end = closed_form()

    hour = np.arange(len(found))
    mean = end + (50 - end) * tau * (np.exp(-hour / tau) - np.exp(-(hour + 1) / tau))
    assert tau > 10
    assert found[:100] == pytest.approx(mean[:100], abs=0.02)


def test_the_hours_after_an_exchange_count_as_hours_over_and_their_excess_is_the_integral():
    record, _ = drying_down(ceiling_pct=25.0)
    tau, end = closed_form()

    over_h = tau * math.log((50 - end) / (25 - end))
    excess = tau * (50 - 25) - (25 - end) * over_h
    # Hours are counted by their means, so that the last one is over or not as a whole.
    assert abs(int(record.enclosures.hours_over[0]) - over_h) <= 1
    assert record.enclosures.excess_pct_days[0] == pytest.approx(excess / 24, rel=2e-3)
    unopened, _ = drying_down(ceiling_pct=25.0, ready=0)
    assert unopened.enclosures.hours_over[0] == 0


@pytest.mark.parametrize("packing", [0.0, 0.5, 5.0])
def test_hygroscopic_packing_slows_the_air_both_ways_by_its_share_of_the_water(packing):
    # Nothing but air and packing inside; the room goes from 50 to 65 %RH for ten days, and back.
    out = {"what": "air_handling_out", "starts": shop.START.replace(day=11), "days": 10.0, "shift_rh_pct": 15.0}
    record = shop.live(
        shop.row(packets=0), days=40, watch=["A"], incidents=[out], kinds={"box": {"packing_g_per_pct": packing}}
    )
    capacity = EMPTY_M3 * shop.CSAT_20_C_KG_PER_M3 + packing * 0.1  # 1 g per %RH is 0.1 kg from 0 to 100 %RH
    tau = capacity / (shop.leak_kg_per_s_pa(1.0, EMPTY_M3) * shop.PSAT_20_C_PA) / 3600

    def mean(hour):
        return tau * (np.exp(-hour / tau) - np.exp(-(hour + 1) / tau))

    found = record.watched["A"].astype(float)
    hour = np.arange(240)
    assert found[:240] == pytest.approx(np.full(240, 50.0), abs=1e-3)
    assert found[240:480] == pytest.approx(65 - 15 * mean(hour), abs=0.02)
    top = 65 - 15 * math.exp(-240 / tau)
    assert found[480:720] == pytest.approx(50 + (top - 50) * mean(hour), abs=0.02)


@pytest.mark.parametrize(("age_days", "release_days"), [(0, 5.0), (5, 5.0), (0, 0.4)])
def test_objects_give_off_what_is_left_of_their_water_and_the_ledger_books_just_that(age_days, release_days):
    packed = shop.START.fromordinal(shop.START.toordinal() - age_days)
    wet = {"kinds": {"box": {"object_water_g": 20.0, "release_days": release_days}}}

    record = shop.live(shop.row(last_regenerated=packed), **wet)

    left_kg = 0.020 * math.exp(-age_days / release_days)
    assert record.ledger.water_from_objects_kg == pytest.approx(left_kg * -math.expm1(-60 / release_days), rel=1e-9)
    dry = shop.live(shop.row(last_regenerated=packed))
    gained = record.ledger.water_end_kg - dry.ledger.water_end_kg
    assert 0.8 * left_kg < gained < left_kg  # a damper inside lets less in through the wall
    assert record.enclosures.mean_rh_pct[0] > dry.enclosures.mean_rh_pct[0]


@pytest.mark.parametrize(
    ("fill", "packets"),
    [
        ({"packets": 4}, 4),
        # 6 l empty: 20 kg/m3 are 0.12 kg, three packets of 50 g; a tenth of it filled at 700 kg/m3 are 0.42 kg, nine.
        ({"gel_kg_per_m3": 20.0}, 3),
        ({"gel_pct_of_empty": 10.0}, 9),
    ],
)
def test_gel_is_filled_by_packets_by_kilograms_per_volume_or_by_share_of_the_empty_space(fill, packets):
    record = shop.live(shop.row(), days=1, packets={"p": {"gel_kg": 0.05}}, kinds={"box": fill})

    assert record.stock[0].in_enclosures == packets
    assert record.ledger.gel_end_kg == pytest.approx(0.05 * packets)


@pytest.mark.parametrize(("leak_per_day", "holds"), [(0.5, True), (2.0, False)])
def test_twenty_kilograms_a_cubic_metre_stay_under_20_rh_for_a_year_only_where_the_case_is_tight(leak_per_day, holds):
    # Knight 1996: lined case, 20 kg of gel per m3, outside above 50 %RH, below 20 %RH for over a year.
    record = shop.live(
        shop.row(leak_per_day=leak_per_day),
        days=365,
        climate={"rh_mean_pct": 55.0},
        metals={"iron": {"ceiling_rh_pct": 20.0}},
        kinds={"box": {"volume_m3": 1.0, "empty_pct": 100.0, "gel_kg_per_m3": 20.0}},
        packets={"p": {"gel_kg": 1.0}},
    )

    assert bool(record.enclosures.hours_over[0] == 0) is holds


@pytest.mark.parametrize("layers", [1, 2, 3, 6])
def test_the_layers_of_a_bag_share_the_draw_of_a_box_and_stay_independent(layers):
    draws = np.random.default_rng(5).standard_normal((4000, layers))
    shared = shared_among_layers(draws)
    # A rotation or reflection keeps independent normal deviates independent and normal; the sum is sqrt(n) times a
    # standard normal deviate, and that one is the first draw, which is all that a box has.
    turned = shared_among_layers(np.eye(layers))
    assert turned @ turned.T == pytest.approx(np.eye(layers), abs=1e-14)
    assert shared.sum(axis=1) / math.sqrt(layers) == pytest.approx(draws[:, 0], abs=1e-12)
    assert np.cov(shared.T).reshape(layers, layers) == pytest.approx(np.eye(layers), abs=5 / math.sqrt(4000))
