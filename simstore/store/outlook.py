"""What a planner can work out beforehand: how gel fills up in the expected weather, and when it will be spent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from simstore.physics.enclosure_rows import COLUMNS, CURVE_UP, GEL_KG, OPEN_Q, PACKET_ROW, PACKETS, WALL
from simstore.physics.filling_up import air_on, by_halves, day_of, water_after
from simstore.physics.room_hours import INVERSE_K, PRESSURE, PSAT
from simstore.scenario.scenario import Scenario
from simstore.store.climate import expected_air
from simstore.store.gel import StoreCurves
from simstore.store.housed import Housed
from simstore.store.passages import packet_row, room_hours
from simstore.units import DAYS_PER_YEAR, HOURS_PER_DAY, ZERO_CELSIUS_K

FloatArray = NDArray[np.float64]
LONGEST_DAYS = 4 * int(DAYS_PER_YEAR)
"""Gel that was dried longer ago than that is taken for so old."""


class Outlook:
    """How gel fills up in the expected weather, day by day, with the walls and packets of each day's temperature.

    Parameters
    ----------
    scenario : Scenario
        Gives the climate without the noise of any one year.
    curves : StoreCurves
        Isotherms of the store's gels.
    days : int
        Day of the run up to which due dates are looked for. [d]
    """

    def __init__(self, scenario: Scenario, curves: StoreCurves, *, days: int) -> None:
        # The expected weather repeats itself, every year or as long as the measurements are.
        period = int(DAYS_PER_YEAR) if scenario.air is None else len(scenario.air.temp_c) // HOURS_PER_DAY
        room = expected_air(scenario, first_day=0, days=period)
        self._settings, self._curves = scenario.settings, curves
        self._days = by_halves(room_hours(scenario.settings, room).hours)
        self._end = days
        self._forms, self._knots, self._gels = curves.table()

    def _row(self, row: Housed, wall: FloatArray, gel_kg: float) -> FloatArray:
        """One enclosure with its gel as the step reads it."""
        assert row.packet is not None
        assert row.packet_name is not None
        own = np.zeros(COLUMNS)
        own[GEL_KG] = gel_kg
        own[CURVE_UP : OPEN_Q + 1] = self._gels[self._curves.names.index(row.packet.sorbent)]
        own[PACKETS], own[PACKET_ROW] = row.packets, packet_row(self._settings, row.packet_name)
        own[WALL] = wall
        return own

    def due_day(
        self, row: Housed, wall: FloatArray, *, gel_kg: float, water_kg: float, from_day: float, rh: float
    ) -> float:
        """Day of the run on which the RH inside will have come to ``rh``; infinity if not by the last day looked at.

        Parameters
        ----------
        row : Housed
            The enclosure; it has a packet.
        wall : ndarray, shape (wall columns,)
            Its wall as it is believed to be.
        gel_kg, water_kg : float
            Dry gel times the share of its capacity that is believed to be left, and the water on it. [kg]
        from_day : float
            Day of the run from which to count.
        rh : float
            Relative humidity inside at which the gel is spent, as a fraction.
        """
        own = self._row(row, wall, gel_kg)
        # The day before the run on which the tables begin, so that days count from 0.
        before = LONGEST_DAYS // len(self._days) * len(self._days) + len(self._days)
        start = max(from_day, float(-LONGEST_DAYS))
        found = day_of(
            own, self._forms, self._knots, self._days, start + before, self._end + before, water_kg / gel_kg, rh
        )
        return math.inf if math.isinf(found) else max(found - before, from_day)

    def fills_up(
        self, row: Housed, wall: FloatArray, *, gel_kg: float, water_kg: float, days: Sequence[int]
    ) -> list[tuple[float, float]]:
        """Follow the gel of one enclosure through the expected weather, without any change of packets.

        Parameters
        ----------
        row, wall, gel_kg, water_kg
            As in `due_day`; the water is that on the first of the days.
        days : sequence of int
            Days of the run, in order; they may lie before it.

        Returns
        -------
        list of tuple of float
            Water on the gel [kg] and RH inside [fraction] on each of the days.
        """
        own = self._row(row, wall, gel_kg)
        before = (-min(days) // len(self._days) + 1) * len(self._days)
        q, at, found = water_kg / gel_kg, days[0] + before, []
        for day in days:
            q = water_after(own, self._forms, self._knots, self._days, at, day + before, q)
            at = day + before
            found.append((q * gel_kg, air_on(own, self._forms, self._knots, self._days, at, q)))
        return found

    def water_at_start(
        self, rows: Sequence[Housed], walls: FloatArray, *, gel_kg: FloatArray, ages: FloatArray, dried: FloatArray
    ) -> FloatArray:
        """Water on the gel of each enclosure at the start of the run [kg], shape (enclosures,).

        Weighed gel is taken at its weight. Dated gel has filled up through its wall in the expected weather. Gel that
        was never dried, or is not known, is in balance with the room.

        Parameters
        ----------
        rows : sequence of Housed
            The enclosures.
        walls : ndarray, shape (enclosures, wall columns)
            As they are.
        gel_kg : ndarray, shape (enclosures,)
            Dry gel.
        ages : ndarray, shape (enclosures,)
            Days since the last drying, from `days_since_drying`.
        dried : ndarray, shape (enclosures,)
            Water on freshly dried gel. [kg/kg]
        """
        first = self._days[0].mean(axis=0)
        balance = self._curves.uptake_kg_per_kg(
            np.full(len(rows), min(first[PRESSURE] / first[PSAT], 1.0)), 1.0 / first[INVERSE_K] - ZERO_CELSIUS_K
        )
        q = np.zeros(len(rows))
        for i, row in enumerate(rows):
            weighed = row.enclosure.gel_water_pct
            if weighed is not None:
                q[i] = weighed / 100.0
            elif math.isnan(ages[i]) or gel_kg[i] <= 0.0:
                q[i] = balance[i]
            else:
                age = int(ages[i])
                begin = -age % len(self._days)
                own = self._row(row, walls[i], gel_kg[i])
                q[i] = water_after(own, self._forms, self._knots, self._days, begin, begin + age, dried[i])
        return q * gel_kg


def days_since_drying(rows: Sequence[Housed], start: date) -> FloatArray:
    """Days from the last drying to the start of the run, shape (enclosures,); NaN where it is not known."""
    ages = [
        np.nan if row.enclosure.last_regenerated is None else (start - row.enclosure.last_regenerated).days
        for row in rows
    ]
    return np.minimum(np.array(ages, dtype=np.float64), LONGEST_DAYS)
