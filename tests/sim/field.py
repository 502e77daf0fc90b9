"""What others found in boxes and cases, through the real stepper."""

from __future__ import annotations

import numpy as np

from simstore.physics.sorption import NARROW_PORE_GEL
from simstore.physics.uptake import Pairs, Room, advance
from simstore.physics.wall import (
    air_exchange_conductance_kg_per_s_pa,
    film_conductance_kg_per_s_pa,
)

DAY_H = 24


class Linear:
    """h = q / slope, whatever the temperature."""

    def __init__(self, slope: float) -> None:
        self.slope = slope

    def log_activity_terms(self, index, q, temp_c):
        return np.log(np.maximum(q, 1e-12) / self.slope), np.zeros_like(q), 1.0 / np.maximum(q, 1e-12)


class Real:
    """Narrow-pore gel of Sapienza et al. 2017."""

    def log_activity_terms(self, index, q, temp_c):
        return NARROW_PORE_GEL.log_activity_terms(q, temp_c)


def one(*, wall: float, volume_m3: float, gel_kg: float, q: float, curves, room: Room) -> Pairs:
    """One enclosure whose packet is no hindrance, in balance with its gel."""
    pairs = Pairs(
        wall_temps_c=np.array([0.0, 40.0]),
        wall_kg_per_s_pa=np.array([[wall], [wall]]),
        packet_kg_per_s_pa=np.array([1e-7]),
        air_m3=np.array([volume_m3]),
        packing_kg=np.array([0.0]),
        gel_kg=np.array([gel_kg]),
        near_kg=np.array([0.0]),
        water_kg=np.array([q * gel_kg]),
        curves=curves,
    )
    pairs.refresh(float(room.temp_c[0]))
    start = pairs.gel_activity(float(room.temp_c[0]))
    pairs.near_kg = pairs.capacity_kg(float(room.content_kg_per_m3[0])) * start
    return pairs


def constant(days: int, temp_c: float, rh_pct: float) -> Room:
    return Room.from_hours(np.full(days * DAY_H, temp_c), np.full(days * DAY_H, rh_pct))


def midnights_pct(pairs: Pairs, room: Room) -> np.ndarray:
    """RH at the end of every day [%RH]."""
    days = len(room.temp_c) // DAY_H
    return np.array([100 * advance(pairs, room, DAY_H * n, DAY_H).end_activity[-1, 0] for n in range(days)])


def half_time_days() -> float:
    """Half-time of a case with 2 g/(kg %RH), 20 kg/m3, one change a day, 20 degC."""
    volume = 0.1
    room = constant(180, 20.0, 60.0)
    wall = float(air_exchange_conductance_kg_per_s_pa(1.0, volume, 20.0))
    # 2 g/(kg %RH) is 0.2 kg/kg from 0 to 100 %RH; start from 10 %RH: half way is 35 %RH
    pairs = one(wall=wall, volume_m3=volume, gel_kg=20 * volume, q=0.02, curves=Linear(0.2), room=room)
    reached = midnights_pct(pairs, room)
    return float(np.interp(35.0, np.concatenate(([10.0], reached)), np.arange(len(reached) + 1)))


def _case_pct(leak_per_day: float, days: int) -> np.ndarray:
    """Lined case with 20 kg/m3 of gel as supplied, 18 degC and 55 %RH around it."""
    volume = 0.1
    room = constant(days, 18.0, 55.0)
    wall = float(air_exchange_conductance_kg_per_s_pa(leak_per_day, volume, 18.0))
    return midnights_pct(one(wall=wall, volume_m3=volume, gel_kg=20 * volume, q=0.02, curves=Real(), room=room), room)


def after_a_year_pct(leak_per_day: float) -> float:
    return float(_case_pct(leak_per_day, 365)[-1])


def gasketed_rise_pct() -> float:
    """Rise in a year in a 10 l polyethylene box, 2 mm thick, 0.3 m2, gasket of 0.1 changes a day, 0.3 kg of gel."""
    room = constant(365, 18.0, 50.0)
    wall = float(
        air_exchange_conductance_kg_per_s_pa(0.1, 0.01, 18.0) + film_conductance_kg_per_s_pa(4.66e-16, 0.3, 2e-3)
    )
    reached = midnights_pct(one(wall=wall, volume_m3=0.01, gel_kg=0.3, q=0.02, curves=Real(), room=room), room)
    return float(reached[-1] - reached[0])
