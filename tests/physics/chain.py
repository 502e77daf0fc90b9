"""Enclosures given by their numbers, for tests that drive the step without a scenario."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from simstore.physics import enclosure_rows as rows
from simstore.physics.advance import advance
from simstore.physics.curve_table import curve_table
from simstore.physics.isotherm import Isotherm
from simstore.physics.room_hours import CONTENT, FIRST_FILM, Room, RoomHours
from simstore.physics.sorption import Tabulated
from simstore.physics.working_rows import working_space

FILM, PACKET = FIRST_FILM, FIRST_FILM + 1
LINEAR = Tabulated(20.0, [0.25, 0.5, 1.0], [0.1, 0.2, 0.4])
"""0.4 kg/kg from 0 to 100 %RH, at 20 degC."""


@dataclass
class Chain:
    """Enclosures of any layers in one room.

    Attributes
    ----------
    room : Room
    air_m3, leak_per_day : sequence of sequence
        Of each enclosure, by layer.
    gel_kg, packing_kg, packet, q, inside : sequence
        Of each enclosure: dry gel, water of packing to 100 %RH, conductance of the packet [kg/(s Pa)], water per gel,
        and RH inside at the start as a fraction.
    """

    room: Room
    air_m3: Sequence[Sequence[float]]
    leak_per_day: Sequence[Sequence[float]]
    gel_kg: Sequence[float]
    packing_kg: Sequence[float]
    packet: Sequence[float]
    q: Sequence[float]
    inside: Sequence[float]
    curve: Isotherm = LINEAR
    object_water_kg: float = 0.0
    means_pct: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        count, hours = len(self.gel_kg), len(self.room.temp_c)
        one = np.ones((1, hours))
        self.hours = RoomHours.of(self.room, 0.0 * one, one)
        self.forms, self.knots = curve_table([self.curve])
        self.own, self.state = np.zeros((count, rows.COLUMNS)), np.zeros((count, rows.STATES))
        for i, (own, state) in enumerate(zip(self.own, self.state, strict=True)):
            layers = len(self.air_m3[i])
            own[rows.LAYERS], own[rows.PACKING_KG], own[rows.GEL_KG] = layers, self.packing_kg[i], self.gel_kg[i]
            own[rows.CURVE_DOWN], own[rows.CEILING], own[rows.WATCHED] = -1.0, 0.5, i
            own[rows.PACKET_ROW], own[rows.PACKETS] = PACKET, self.packet[i]
            own[rows.RELEASED_PER_H] = 0.01
            own[rows.FILM_ROW : rows.FILM_ROW + layers] = FILM
            own[rows.AIR_M3 : rows.AIR_M3 + layers] = self.air_m3[i]
            own[rows.LEAK_M3_PER_S : rows.LEAK_M3_PER_S + layers] = (
                np.array(self.leak_per_day[i]) * self.air_m3[i] / 86400
            )
            state[rows.GEL_WATER_KG] = self.q[i] * self.gel_kg[i]
            state[rows.OBJECT_WATER_KG] = self.object_water_kg
            state[rows.AIR_WATER_KG : rows.AIR_WATER_KG + layers] = self.inside[i] * self.full_kg(i, 0)
        self.means_pct = np.zeros((hours, count), dtype=np.float32)
        self._counted = np.zeros((count, -(-hours // 24)), np.float32), np.zeros((count, 53), np.uint8)

    def full_kg(self, i: int, hour: int) -> np.ndarray:
        """Water of each air space at 100 %RH, with the packing in the last. [kg]."""
        full = np.array(self.air_m3[i]) * self.hours.hours[CONTENT, hour]
        full[-1] += self.packing_kg[i]
        return full

    def live(self, until: int, *, block_h: int = 24, step=advance) -> None:
        """Advance all to an hour; ``block_h`` is the longest block that is tried."""
        space = working_space(len(self.hours.hours))
        index = np.arange(len(self.gel_kg))
        hour = int(self.state[:, rows.HOUR].min())
        while hour < until:
            hour = min(hour + block_h, until)
            self.state[:, rows.BLOCK_H] = block_h
            step(
                index, hour, self.own, self.state, self.forms, self.knots, self.hours.hours, self.hours.days,
                *self._counted, self.means_pct, *space,
            )  # fmt: skip

    def air(self, i: int, hour: int) -> np.ndarray:
        """RH of each air space of one enclosure as a fraction, which stands at the end of ``hour``."""
        layers = len(self.air_m3[i])
        water = self.state[i, rows.AIR_WATER_KG : rows.AIR_WATER_KG + layers]
        return np.minimum(water / self.full_kg(i, hour), 1.0)

    def water_kg(self) -> np.ndarray:
        """Water of each enclosure, liquid included. [kg]."""
        return self.state[:, rows.AIR_WATER_KG :].sum(axis=1) + self.state[:, rows.GEL_WATER_KG]
