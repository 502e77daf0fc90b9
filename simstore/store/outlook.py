"""What a planner can work out beforehand: the water that a wall lets in by a date, and when gel will be spent.

A wall of conductance G lets in ``G times the integral of (p_room - p_inside)``. With the expected weather and a mean
humidity inside, the integral is a table by day, and a due date is a look-up in it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.scenario import Scenario
from simstore.store.climate import expected_air
from simstore.units import DAYS_PER_YEAR, HOURS_PER_DAY, SECONDS_PER_DAY

FloatArray = NDArray[np.float64]
LOOK_AHEAD_DAYS = 5 * int(DAYS_PER_YEAR)


class Outlook:
    """Expected drying power of the room, by day.

    Parameters
    ----------
    scenario : Scenario
        Gives the climate without the noise of any one year.
    first_day : int
        First day of the tables, relative to the start of the run; 0 or negative.
    days : int
        Length of the run. [d]
    """

    def __init__(self, scenario: Scenario, *, first_day: int, days: int) -> None:
        self.first_day = first_day
        # The expected weather repeats itself, every year or as long as the measurements are.
        total = days - first_day + LOOK_AHEAD_DAYS
        period = int(DAYS_PER_YEAR) if scenario.air is None else len(scenario.air.temp_c) // HOURS_PER_DAY
        room = expected_air(scenario, first_day=first_day, days=min(period, total))
        self.temp_c = _daily(room.temp_c, total)
        self.psat_pa = _daily(room.psat_pa, total)
        self.room_pa = _daily(room.psat_pa * room.activity, total)
        self._wet = np.concatenate(([0.0], np.cumsum(self.room_pa))) * SECONDS_PER_DAY
        self._dry = np.concatenate(([0.0], np.cumsum(self.psat_pa))) * SECONDS_PER_DAY
        self._tables: dict[float, FloatArray] = {}

    def due_day(self, *, from_day: float, water_kg: float, conductance_kg_per_s_pa: float, mean_inside: float) -> float:
        """Day of the run on which ``water_kg`` more will have come in; infinity if not within the tables.

        Parameters
        ----------
        from_day : float
            Day of the run from which to count.
        water_kg : float
            Water that the gel can still take. [kg]
        conductance_kg_per_s_pa : float
            Believed conductance of the wall. [kg/(s Pa)]
        mean_inside : float
            Mean relative humidity inside meanwhile, as a fraction.
        """
        table = self._tables.get(mean_inside)
        if table is None:
            table = np.maximum.accumulate(self._wet - mean_inside * self._dry)
            self._tables[mean_inside] = table
        if water_kg <= 0.0:
            return from_day
        if conductance_kg_per_s_pa <= 0.0:
            return float("inf")
        place = from_day - self.first_day
        low = int(place)
        start = table[low] + (place - low) * (table[low + 1] - table[low])
        target = start + water_kg / conductance_kg_per_s_pa
        found = int(np.searchsorted(table, target))
        if found >= len(table):
            return float("inf")
        before = table[found - 1]
        share = (target - before) / (table[found] - before)
        return self.first_day + found - 1 + float(share)


def _daily(values: FloatArray, days: int) -> FloatArray:
    """Daily means, repeated to ``days``."""
    return np.resize(values.reshape(-1, HOURS_PER_DAY).mean(axis=1), days)
