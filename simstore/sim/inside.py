"""The state of all enclosures on an hourly clock, and what is counted of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simstore.physics.uptake import Pairs, Room, advance
from simstore.store.gel import StoreCurves
from simstore.units import DAYS_PER_WEEK, HOURS_PER_DAY

FloatArray = NDArray[np.float64]

LONGEST_BLOCK_DAYS = 2
"""Days that are advanced in one step when nobody looks."""


class Inside:
    """RH inside every enclosure, advanced in whole hours.

    An opening or an exchange takes effect at the last full hour, and a reading sees the air of that hour.

    Parameters
    ----------
    pairs, curves, room : Pairs, StoreCurves, Room
        Physics of the enclosures and the air of the run.
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
        pairs: Pairs,
        curves: StoreCurves,
        room: Room,
        ceiling_pct: FloatArray,
        *,
        object_water_kg: FloatArray | None = None,
        release_days: FloatArray | None = None,
        first_day: NDArray[np.int64] | None = None,
        watched: Sequence[int] = (),
    ) -> None:
        count = len(ceiling_pct)
        days = len(room.temp_c) // HOURS_PER_DAY
        self.pairs = pairs
        self.curves = curves
        self.room = room
        self.ceiling_pct = ceiling_pct
        self.hour = 0
        self.days = days
        self.water_start_kg = float(pairs.near_kg.sum() + pairs.water_kg.sum())
        self.through_walls_kg = 0.0
        self.with_openings_kg = 0.0
        self.absolute_kg = 0.0
        self.held_days = np.zeros(count, dtype=np.int64)
        self.hours_over = np.zeros(count, dtype=np.int64)
        self.excess_pct_h = np.zeros(count)
        self.worst_pct = np.zeros(count)
        self.week_hours_over = np.zeros((count, -(-days // DAYS_PER_WEEK)), dtype=np.uint8)
        self._day_mean = np.zeros((days, count), dtype=np.float32)
        self.day_mean_pct = self._day_mean.T
        self.now_pct = pairs.near_kg / pairs.capacity_kg(float(room.content_kg_per_m3[0])) * 100.0
        self.object_water_kg = np.zeros(count) if object_water_kg is None else object_water_kg
        self.release_days = np.full(count, np.inf) if release_days is None else release_days
        self.from_objects_kg = 0.0
        self.first_day = np.zeros(count, dtype=np.int64) if first_day is None else first_day
        self.first_hour = self.first_day * HOURS_PER_DAY
        self.last_arrival = int(self.first_hour.max(initial=0))
        self.counted_days = np.zeros(count, dtype=np.int64)
        self.watched = np.asarray(watched, dtype=np.intp)
        self.watched_pct = np.zeros((len(room.temp_c), len(self.watched)), dtype=np.float32)
        self._day_sum = np.zeros(count)
        self._changed: list[int] = []

    def advance_to(self, hour: int) -> None:
        """Advance to the start of ``hour``, a few days at a time; an hour that has passed changes nothing."""
        while self.hour < hour:
            today = self.hour // HOURS_PER_DAY
            daily = self.curves.has_loops or self.hour < self.last_arrival or self.object_water_kg.any()
            days = 1 if daily else LONGEST_BLOCK_DAYS
            self._block(min((today + days) * HOURS_PER_DAY, hour) - self.hour)

    def _block(self, hours: int) -> None:
        self._refresh()
        self._release(hours)
        trace = advance(self.pairs, self.room, self.hour, hours)
        if self.curves.has_loops:
            self.curves.settle(self.pairs.water_kg / np.where(self.pairs.gel_kg > 0, self.pairs.gel_kg, np.inf))
            self.pairs.refresh(float(self.room.temp_c[self.hour + hours - 1]))
        self.through_walls_kg += float(trace.inflow_kg.sum())
        self.absolute_kg += float(np.abs(trace.inflow_kg).sum())
        mean_pct = trace.mean_activity
        mean_pct *= 100.0
        done = 0
        while done < hours:
            rest = HOURS_PER_DAY - self.hour % HOURS_PER_DAY
            part = mean_pct[done : done + rest]
            self._count(part)
            done += len(part)
        self.now_pct = trace.end_activity[-1] * 100.0

    def _count(self, mean_pct: FloatArray) -> None:
        """Count the hourly means of one day or a part of it, shape (hours, enclosures), and move the clock on."""
        hours = len(mean_pct)
        if self.watched.size:
            self.watched_pct[self.hour : self.hour + hours] = mean_pct[:, self.watched]
        if self.hour < self.last_arrival:
            absent = self.first_hour > self.hour
            mean_pct[:, absent] = 0.0
            if self.watched.size:
                self.watched_pct[self.hour : self.hour + hours, absent[self.watched]] = np.nan
        self._day_sum += np.add.reduce(mean_pct, axis=0)
        highest = np.maximum.reduce(mean_pct, axis=0)
        np.maximum(self.worst_pct, highest, out=self.worst_pct)
        day = self.hour // HOURS_PER_DAY
        over = np.flatnonzero(highest > self.ceiling_pct)
        if over.size:
            excess = mean_pct[:, over] - self.ceiling_pct[over]
            np.maximum(excess, 0.0, out=excess)
            hours_over = np.count_nonzero(excess, axis=0)
            self.excess_pct_h[over] += excess.sum(axis=0)
            self.hours_over[over] += hours_over
            self.week_hours_over[over, day // DAYS_PER_WEEK] += hours_over.astype(np.uint8)
        self.hour += hours
        if self.hour % HOURS_PER_DAY == 0:
            mean = self._day_sum / HOURS_PER_DAY
            here = self.first_day <= day
            self._day_mean[day] = mean if here.all() else np.where(here, mean, np.nan)
            self.counted_days += here
            self.held_days += here & (mean <= self.ceiling_pct)
            self._day_sum[:] = 0.0

    def _release(self, hours: int) -> None:
        """Let objects that are in the store give off their share of water over the coming hours."""
        if not self.object_water_kg.any():
            self.pairs.source_kg_per_h = None
            return
        per_h = self.object_water_kg * -np.expm1(-hours / (self.release_days * HOURS_PER_DAY)) / hours
        if self.hour < self.last_arrival:
            per_h[self.first_hour > self.hour] = 0.0
        self.pairs.source_kg_per_h = per_h
        self.object_water_kg = np.maximum(self.object_water_kg - per_h * hours, 0.0)
        given_kg = float(per_h.sum()) * hours
        self.from_objects_kg += given_kg
        self.absolute_kg += given_kg

    @property
    def _now(self) -> int:
        return min(self.hour, len(self.room.temp_c) - 1)

    def gel_rh_pct(self, index: Sequence[int] | NDArray[np.intp]) -> FloatArray:
        """RH over the gel of ``index`` [%RH]; 100 where there is none."""
        self._refresh()
        which = np.asarray(index, dtype=np.intp)
        return self.pairs.gel_activity(float(self.room.temp_c[self._now]), which) * 100.0

    def open(self, index: int) -> None:
        """Replace the air inside one enclosure by room air."""
        hour = self._now
        content = float(self.room.content_kg_per_m3[hour])
        air_kg = float(self.pairs.air_m3[index]) * content
        inside = self.pairs.near_kg[index] / (air_kg + self.pairs.packing_kg[index])
        gained = float(air_kg * (self.room.activity[hour] - inside))
        self.pairs.near_kg[index] += gained
        self.with_openings_kg += gained
        self.absolute_kg += abs(gained)

    def set_wall(self, index: int, wall_kg_per_s_pa: FloatArray) -> None:
        """Give one enclosure another wall, shape (temperatures,): it has failed, or it has been replaced."""
        self.pairs.wall_kg_per_s_pa[:, index] = wall_kg_per_s_pa

    def rehouse(self, index: int, *, air_m3: float, packing_kg: float, wall_kg_per_s_pa: FloatArray) -> None:
        """Move the objects of one enclosure into another one, which is full of room air."""
        hour = self._now
        self.set_wall(index, wall_kg_per_s_pa)
        self.pairs.air_m3[index] = air_m3
        self.pairs.packing_kg[index] = packing_kg
        capacity_kg = air_m3 * float(self.room.content_kg_per_m3[hour]) + packing_kg
        near_kg = capacity_kg * float(self.room.activity[hour])
        gained = float(near_kg - self.pairs.near_kg[index])
        self.pairs.near_kg[index] = near_kg
        self.with_openings_kg += gained
        self.absolute_kg += abs(gained)

    def put_gel(
        self, index: int, *, gel_kg: float, water_kg: float, left: float, conductance_kg_per_s_pa: float
    ) -> None:
        """Put gel into one enclosure in the place of what is there."""
        self.pairs.gel_kg[index] = gel_kg
        self.pairs.water_kg[index] = water_kg
        self.pairs.packet_kg_per_s_pa[index] = conductance_kg_per_s_pa if gel_kg > 0 else 0.0
        self.curves.put(index, q=water_kg / gel_kg if gel_kg > 0 else 0.0, left=left)
        self._changed.append(index)

    def _refresh(self) -> None:
        """Make the isotherms of gel that was put in since the last time linear."""
        if self._changed:
            self.pairs.refresh(float(self.room.temp_c[self._now]), np.array(self._changed))
            self._changed.clear()

    def water_now_kg(self) -> float:
        """Water in all enclosures: air, packing and gel. [kg]."""
        return float(self.pairs.near_kg.sum() + self.pairs.water_kg.sum())
