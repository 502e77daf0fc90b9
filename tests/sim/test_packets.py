"""Packets that are made up from loose gel, or emptied into it: nothing is lost on the way, capacity included."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.scenario.values.sorbents import DubininAstakhov, Packet, Sorbent
from simstore.scenario.values.work import Stock
from simstore.sim.packets import Parcel, Stockroom

GEL_KG = 0.25
ISOTHERM = DubininAstakhov(capacity_kg_per_kg=0.38, energy_j_per_mol=3962.2, exponent=1.1)


def stockroom(**sorbent):
    """One sort of packet of a quarter of a kilogram, none on the shelves."""
    gel = Sorbent(label="gel", isotherm=ISOTHERM, loss_per_cycle_pct=1.0, **sorbent)
    packet = Packet(label="packet", sorbent="gel", gel_kg=GEL_KG)
    return Stockroom({"p": packet}, {"gel": gel}, {"p": Stock()}, {"p": 0.2})


def held_kg(room):
    """Gel, water and the gel that its capacity is worth, on the shelves and loose. [kg]."""
    shelf = room.shelves["p"]
    gel_kg = shelf.loose_gel_kg + sum(p.gel_kg for p in shelf.ready)
    water_kg = shelf.loose_water_kg + sum(p.water_kg for p in shelf.ready)
    worth_kg = shelf.loose_gel_kg * shelf.loose_left + sum(p.gel_kg * p.left for p in shelf.ready)
    return gel_kg, water_kg, worth_kg


PARCELS = st.lists(
    st.builds(
        Parcel,
        sort=st.just("p"),
        gel_kg=st.floats(0.15, GEL_KG),
        water_kg=st.floats(0.0, 0.05),
        left=st.floats(0.5, 1.0),
        cycles=st.integers(0, 30),
    ),
    min_size=1,
    max_size=12,
)


@given(parcels=PARCELS, granule_pct=st.sampled_from([0.0, 40.0]))
def test_mixing_gel_of_different_age_keeps_gel_water_and_capacity(parcels, granule_pct):
    room = stockroom(granule_pct=granule_pct, granule_loss_per_cycle_pct=3.0, discard_below_pct=0.0)
    kept = 1.0 - (0.01 * (1.0 - granule_pct / 100.0) + 0.03 * granule_pct / 100.0)
    expected = [0.0, 0.0, 0.0]
    for parcel in parcels:
        share = kept if parcel.cycles else 1.0
        for place, own in enumerate((parcel.gel_kg, parcel.water_kg, parcel.gel_kg * parcel.left)):
            expected[place] += own * share
        room.prepare(parcel, now_min=5)

    assert held_kg(room) == pytest.approx(expected, rel=1e-12)
    assert all(p.gel_kg == pytest.approx(GEL_KG) for p in room.shelves["p"].ready)
    assert all(0.5 - 1e-9 <= left <= 1.0 + 1e-9 for left in capacities(room))


def capacities(room):
    """Share of the capacity that is left, of every packet and of loose gel where there is some."""
    shelf = room.shelves["p"]
    return [p.left for p in shelf.ready] + [shelf.loose_left] * (shelf.loose_gel_kg > 0.0)


# By hand: 0.2 kg at 60 % go into the tin, of which 0.05 kg make up a packet of 0.2 kg at 100 %.
# (0.2 x 1.0 + 0.05 x 0.6) / 0.25 = 0.92; 0.05 x 0.1 kg of water come along with a quarter of the tin.
def test_a_fresh_packet_made_up_with_old_gel_is_as_good_as_its_parts():
    room = stockroom(discard_below_pct=0.0)
    room.prepare(Parcel("p", gel_kg=0.2, water_kg=0.02, left=0.6), now_min=0)
    room.prepare(Parcel("p", gel_kg=0.2, water_kg=0.01, left=1.0), now_min=7)
    shelf = room.shelves["p"]
    (ready,) = shelf.ready

    assert (ready.gel_kg, ready.left, ready.since_min) == (pytest.approx(0.25), pytest.approx(0.92), 7)
    assert ready.water_kg == pytest.approx(0.015)
    assert (shelf.loose_gel_kg, shelf.loose_left) == pytest.approx((0.15, 0.6))
    assert shelf.loose_water_kg == pytest.approx(0.015)


# By hand: 0.2 kg at 60 % and 0.01 kg at 90 %: (0.12 + 0.009) / 0.21.
def test_gel_emptied_into_the_tin_is_mixed_with_what_is_there():
    room = stockroom(discard_below_pct=0.0)
    room.prepare(Parcel("p", gel_kg=0.2, water_kg=0.0, left=0.6), now_min=0)
    room.shelves["p"].loose_gel_kg = 0.2
    room.prepare(Parcel("p", gel_kg=0.01, water_kg=0.0, left=0.9), now_min=0)

    assert room.shelves["p"].loose_left == pytest.approx(0.129 / 0.21)
    assert room.shelves["p"].discarded == 2


def test_faded_gel_is_thrown_away_below_its_limit_and_used_at_it():
    room = stockroom(discard_below_pct=70.0)
    room.prepare(Parcel("p", gel_kg=GEL_KG, water_kg=0.01, left=0.699), now_min=0)
    room.prepare(Parcel("p", gel_kg=GEL_KG, water_kg=0.01, left=0.7), now_min=0)
    shelf = room.shelves["p"]

    assert (len(shelf.ready), shelf.discarded, shelf.loose_gel_kg) == (1, 1, 0.0)
    assert room.books.gel_lost_kg == shelf.lost_kg == GEL_KG
    assert room.books.water_lost_kg == 0.01
