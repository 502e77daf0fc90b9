"""The inside of all enclosures on hourly clocks, each advanced when somebody looks at it, and what is counted of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simstore.physics.advance import advance, gel_activity
from simstore.physics.enclosure_rows import (
    AIR_M3,
    AIR_WATER_KG,
    BLOCK_H,
    BRANCH,
    CEILING,
    COLUMNS,
    COUNTED_DAYS,
    CURVE_UP,
    EXCESS_H,
    FIRST_HOUR,
    FROM_OBJECTS_KG,
    GEL_KG,
    GEL_WATER_KG,
    HELD_DAYS,
    HOUR,
    HOURS_OVER,
    INFLOW_KG,
    LAYERS,
    LIQUID_HOURS,
    MOST_LAYERS,
    NOW,
    OBJECT_WATER_KG,
    OPEN_Q,
    PACKET_ROW,
    PACKETS,
    PACKING_KG,
    PASSED_KG,
    RELEASED_PER_H,
    STATES,
    WALL,
    WATCHED,
    WORST,
)
from simstore.physics.gap_chain import layer_kg_per_s
from simstore.physics.room_hours import CONTENT, Room, RoomHours
from simstore.physics.working_rows import working_space
from simstore.units import DAYS_PER_WEEK, HOURS_PER_DAY

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


class Inside:
    """Water and RH inside every enclosure, in whole hours.

    Each enclosure has a clock of its own, which goes on when somebody looks at it or touches it; what is done to one
    changes none of the others. An opening or an exchange takes effect at the last full hour, and a reading sees the air
    of that hour.

    Parameters
    ----------
    walls : ndarray, shape (enclosures, wall columns)
        Walls as `simstore.store.housed.Walls` has them.
    packing_kg : ndarray, shape (enclosures,)
        Water that packing and objects take up from 0 to 100 %RH. [kg]
    curves : tuple of ndarray
        Forms, knots and gels of `StoreCurves.table`.
    room, hours : Room, RoomHours
        Air of the run, and the same as the step reads it.
    ceiling_pct : ndarray, shape (enclosures,)
        Ceiling of each. [%RH]
    object_water_kg, release_days : ndarray, shape (enclosures,)
        Water that objects still give off [kg], and the time constant of it. [d]
    first_day : ndarray of int, shape (enclosures,)
        Day of the run from which the objects are in the store.
    watched : sequence of int
        Enclosures whose RH is kept hour by hour.
    """

    def __init__(
        self,
        *,
        walls: FloatArray,
        packing_kg: FloatArray,
        curves: tuple[FloatArray, FloatArray, FloatArray],
        room: Room,
        hours: RoomHours,
        ceiling_pct: FloatArray,
        object_water_kg: FloatArray | None = None,
        release_days: FloatArray | None = None,
        first_day: IntArray | None = None,
        watched: Sequence[int] = (),
    ) -> None:
        count = len(ceiling_pct)
        days = len(room.temp_c) // HOURS_PER_DAY
        self.room = room
        self.days = days
        self.ceiling_pct = ceiling_pct
        self.first_day = np.zeros(count, dtype=np.int64) if first_day is None else first_day
        self.watched = np.asarray(watched, dtype=np.intp)
        self.with_openings_kg = 0.0
        self._opened_kg = 0.0
        self._hours = hours
        self._space = working_space(len(hours.hours))
        self._forms, self._knots, self._gels = curves
        self._everybody = np.arange(count, dtype=np.intp)
        self._own = np.zeros((count, COLUMNS))
        self._own[:, WALL] = walls
        self._own[:, PACKING_KG] = packing_kg
        self._own[:, CEILING] = ceiling_pct / 100.0
        self._own[:, FIRST_HOUR] = self.first_day * HOURS_PER_DAY
        self._own[:, WATCHED] = -1.0
        self._own[self.watched, WATCHED] = np.arange(len(self.watched))
        if release_days is not None:
            self._own[:, RELEASED_PER_H] = -np.expm1(-1.0 / (release_days * HOURS_PER_DAY))
        self._state = np.zeros((count, STATES))
        self._state[:, BLOCK_H] = HOURS_PER_DAY
        if object_water_kg is not None:
            self._state[:, OBJECT_WATER_KG] = object_water_kg
        self.day_mean_pct = np.zeros((count, days), dtype=np.float32)
        self.week_hours_over = np.zeros((count, -(-days // DAYS_PER_WEEK)), dtype=np.uint8)
        self.watched_pct = np.zeros((len(room.temp_c), len(self.watched)), dtype=np.float32)

    def advance_to(self, hour: int, index: Sequence[int] | None = None) -> None:
        """Advance the enclosures ``index``, or all, to the start of ``hour``; one that is there already stays."""
        which = self._everybody if index is None else np.asarray(index, dtype=np.intp)
        advance(
            which, hour, self._own, self._state, self._forms, self._knots, self._hours.hours, self._hours.days,
            self.day_mean_pct, self.week_hours_over, self.watched_pct, *self._space,
        )  # fmt: skip

    def fill(
        self, index: int, *, sorbent: int, gel_kg: float, water_kg: float, left: float, packet_row: int, packets: int
    ) -> None:
        """Put gel into one enclosure in the place of what is there; its other water stays.

        Parameters
        ----------
        sorbent : int
            Number of the sorbent in the table of curves.
        gel_kg, water_kg : float
            Dry gel and the water on it. [kg]
        left : float
            Share of its capacity that is left.
        packet_row, packets : int
            Row of the sort of packet in the room's hours, and how many there are.
        """
        own, state = self._own[index], self._state[index]
        own[GEL_KG] = gel_kg * left
        own[CURVE_UP : OPEN_Q + 1] = self._gels[sorbent]
        own[PACKET_ROW], own[PACKETS] = packet_row, packets
        state[GEL_WATER_KG], state[BRANCH] = water_kg, 0.0

    def settle(self) -> None:
        """Bring the air of every enclosure into balance with its gel, or with the room where there is none.

        Between nested layers it is what it is when the water flows steadily.
        """
        air = self._hours.hours[:, 0]
        inside = self.gel_rh_pct(self._everybody) / 100.0
        outside = float(self.room.activity[0])
        for own, state, over_gel in zip(self._own, self._state, inside.tolist(), strict=True):
            state[NOW] = over_gel if own[GEL_KG] > 0.0 else outside
            layers = int(own[LAYERS])
            way = np.cumsum([1.0 / max(layer_kg_per_s(own, air, n), 1e-300) for n in range(layers)])
            activity = outside + (state[NOW] - outside) * way / way[-1]
            state[AIR_WATER_KG : AIR_WATER_KG + layers] = activity * self._full_kg(own, 0)

    def _full_kg(self, own: FloatArray, hour: int) -> FloatArray:
        """Water of each air space of one enclosure, with the packing in the last, at 100 %RH. [kg]."""
        layers = int(own[LAYERS])
        full: FloatArray = own[AIR_M3 : AIR_M3 + layers] * float(self._hours.hours[CONTENT, hour])
        full[-1] += own[PACKING_KG]
        return full

    def _hour_of(self, index: int) -> int:
        return min(int(self._state[index, HOUR]), len(self.room.temp_c) - 1)

    def gel_rh_pct(self, index: Sequence[int] | NDArray[np.intp]) -> FloatArray:
        """RH over the gel of ``index`` as they stand [%RH]; 100 where there is none."""
        which = np.asarray(index, dtype=np.intp)
        activity = np.ones(len(which))
        if len(which):
            hour = self._hour_of(int(which[0]))
            gel_activity(
                which, hour, self._own, self._state, self._forms, self._knots, self._hours.hours, activity
            )  # fmt: skip
        return activity * 100.0

    def rh_pct(self, index: int) -> float:
        """RH of the air inside one enclosure as it stands. [%RH]."""
        return float(self._state[index, NOW]) * 100.0

    def gel_water_kg(self, index: int) -> float:
        """Water on the gel of one enclosure as it stands. [kg]."""
        return float(self._state[index, GEL_WATER_KG])

    def open(self, index: int) -> None:
        """Replace the air inside one enclosure, and between its layers, by room air; liquid water stays."""
        hour = self._hour_of(index)
        own, state = self._own[index], self._state[index]
        layers = int(own[LAYERS])
        water = state[AIR_WATER_KG : AIR_WATER_KG + layers]
        inside = np.minimum(water / self._full_kg(own, hour), 1.0)
        air_kg = own[AIR_M3 : AIR_M3 + layers] * float(self._hours.hours[CONTENT, hour])
        self._carry_in(water, water + air_kg * (float(self.room.activity[hour]) - inside))

    def set_wall(self, index: int, wall: FloatArray) -> None:
        """Give one enclosure another wall of as many layers: it has failed, or it has been replaced."""
        self._own[index, WALL] = wall

    def rehouse(self, index: int, *, packing_kg: float, wall: FloatArray) -> None:
        """Move the objects of one enclosure into another one, which is full of room air."""
        hour = self._hour_of(index)
        own, state = self._own[index], self._state[index]
        self.set_wall(index, wall)
        own[PACKING_KG] = packing_kg
        new = np.zeros(MOST_LAYERS)
        full = self._full_kg(own, hour)
        new[: len(full)] = full * float(self.room.activity[hour])
        self._carry_in(state[AIR_WATER_KG : AIR_WATER_KG + MOST_LAYERS], new)

    def _carry_in(self, water: FloatArray, new: FloatArray) -> None:
        """Replace water in air spaces, and book the difference to the openings."""
        gained = float((new - water).sum())
        water[:] = new
        self.with_openings_kg += gained
        self._opened_kg += abs(gained)

    def water_now_kg(self) -> float:
        """Water in all enclosures: air, packing and gel, liquid included. [kg]."""
        return float(self._state[:, AIR_WATER_KG:].sum() + self._state[:, GEL_WATER_KG].sum())

    @property
    def through_walls_kg(self) -> float:
        """Water that has come through all walls, less what has left. [kg]."""
        return float(self._state[:, INFLOW_KG].sum())

    @property
    def from_objects_kg(self) -> float:
        """Water that objects have given off. [kg]."""
        return float(self._state[:, FROM_OBJECTS_KG].sum())

    @property
    def absolute_kg(self) -> float:
        """Sum of all flows without their signs. [kg]."""
        return float(self._state[:, PASSED_KG].sum()) + self._opened_kg

    @property
    def counted_days(self) -> IntArray:
        """Whole days on which the objects were in the store, shape (enclosures,)."""
        return self._state[:, COUNTED_DAYS].astype(np.int64)

    @property
    def held_days(self) -> IntArray:
        """Days with a mean of at most the ceiling, shape (enclosures,)."""
        return self._state[:, HELD_DAYS].astype(np.int64)

    @property
    def hours_over(self) -> IntArray:
        """Hours over the ceiling, shape (enclosures,)."""
        return self._state[:, HOURS_OVER].astype(np.int64)

    @property
    def liquid_hours(self) -> IntArray:
        """Hours with liquid water inside, shape (enclosures,)."""
        return self._state[:, LIQUID_HOURS].astype(np.int64)

    @property
    def excess_pct_h(self) -> FloatArray:
        """Integral of (RH - ceiling)+ over time [%RH h], shape (enclosures,)."""
        return self._state[:, EXCESS_H] * 100.0

    @property
    def worst_pct(self) -> FloatArray:
        """Highest hourly mean [%RH], shape (enclosures,)."""
        return self._state[:, WORST] * 100.0
