"""The room's air hour by hour in the form that the step needs, with what films and packets let through in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from simstore.physics.air import R_VAPOUR_J_PER_KG_K, saturation_pressure_pa
from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.units import HOURS_PER_DAY, ZERO_CELSIUS_K

ACTIVITY, CONTENT, INVERSE_K, LN_PSAT, PSAT, PRESSURE, PSAT_INVERSE_K = range(7)
"""Rows of the hours, of which a block has the mean."""
DRIEST, DAMPEST, COLDEST, WARMEST, KICK, FIRST_FILM = range(7, 13)
"""Activity, saturation pressure, step of the vapour content of each hour; a block has the least or the most of them.
Behind them one row for each film and one for each sort of packet, with their means."""

NO_FILMS: Final = np.zeros((0, 1))


@dataclass(frozen=True, slots=True)
class Room:
    """Hourly air of the room; arrays of shape (hours,).

    Attributes
    ----------
    temp_c : ndarray
        Temperature. [degC]
    activity : ndarray
        Relative humidity as a fraction.
    psat_pa : ndarray
        Saturation vapour pressure. [Pa]
    content_kg_per_m3 : ndarray
        Saturated vapour content. [kg/m3]
    inverse_k : ndarray
        1/T. [1/K]
    """

    temp_c: FloatArray
    activity: FloatArray
    psat_pa: FloatArray
    content_kg_per_m3: FloatArray
    inverse_k: FloatArray

    @classmethod
    def from_hours(cls, temp_c: FloatArray, rh_pct: FloatArray) -> Room:
        """Prepare hourly temperature [degC] and relative humidity [%RH], both of shape (hours,)."""
        temp = np.asarray(temp_c, dtype=np.float64)
        inverse_k = 1.0 / (temp + ZERO_CELSIUS_K)
        psat = saturation_pressure_pa(temp)
        content = psat * inverse_k / R_VAPOUR_J_PER_KG_K
        return cls(temp, np.asarray(rh_pct, dtype=np.float64) / 100.0, psat, content, inverse_k)


@dataclass(frozen=True, slots=True)
class RoomHours:
    """The room as the compiled step reads it.

    Attributes
    ----------
    hours : ndarray, shape (rows, hours)
        Rows as named above, then permeabilities of films [kg/(m s Pa)] and conductances of packets [kg/(s Pa)], both
        times the saturation pressure.
    days : ndarray, shape (days, rows)
        Means, or least or most, over each whole day.
    """

    hours: FloatArray
    days: FloatArray

    @classmethod
    def of(cls, room: Room, permeabilities: FloatArray = NO_FILMS, packets: FloatArray = NO_FILMS) -> RoomHours:
        """Prepare a room.

        Parameters
        ----------
        room : Room
            Air of the run.
        permeabilities : ndarray, shape (films, hours)
            Permeability of each film at the hour's temperature. [kg/(m s Pa)]
        packets : ndarray, shape (sorts, hours)
            Conductance of one packet of each sort at the hour's temperature. [kg/(s Pa)]
        """
        content = room.content_kg_per_m3
        kick = np.abs(np.diff(content, prepend=content[:1]))
        kick[::HOURS_PER_DAY] = 0.0
        air = (
            room.activity, content, room.inverse_k, np.log(room.psat_pa), room.psat_pa,
            room.activity * room.psat_pa, room.psat_pa * room.inverse_k,
            room.activity, room.activity, room.psat_pa, room.psat_pa, kick,
        )  # fmt: skip
        hours = np.empty((FIRST_FILM + len(permeabilities) + len(packets), len(room.temp_c)))
        for row, values in zip(hours, air, strict=False):
            row[:] = values
        hours[FIRST_FILM : FIRST_FILM + len(permeabilities)] = permeabilities * room.psat_pa
        hours[FIRST_FILM + len(permeabilities) :] = packets * room.psat_pa
        by_day = hours.reshape(len(hours), -1, HOURS_PER_DAY)
        days = by_day.mean(axis=2)
        days[[DRIEST, COLDEST]] = by_day[[DRIEST, COLDEST]].min(axis=2)
        days[[DAMPEST, WARMEST, KICK]] = by_day[[DAMPEST, WARMEST, KICK]].max(axis=2)
        return cls(hours, np.ascontiguousarray(days.T))


@compiled
def over_block(hours: FloatArray, begin: int, stop: int, air: FloatArray) -> None:
    """Write what a block of hours within a day has of each row: its mean, or the least or the most.

    Parameters
    ----------
    hours : ndarray, shape (rows, hours)
        As in `RoomHours`.
    begin, stop : int
        The block, half-open.
    air : ndarray, shape (rows,)
        Out.
    """
    for row in range(len(hours)):
        total, least, most = 0.0, hours[row, begin], hours[row, begin]
        for k in range(begin, stop):
            here = hours[row, k]
            total += here
            least, most = min(least, here), max(most, here)
        if row in (DRIEST, COLDEST):
            air[row] = least
        elif row in (DAMPEST, WARMEST, KICK):
            air[row] = most
        else:
            air[row] = total / (stop - begin)
