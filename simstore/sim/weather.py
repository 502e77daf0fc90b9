"""The room's hourly air for one replication, and the air that planners expect."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from simstore.physics.uptake import Room
from simstore.scenario.room import Climate
from simstore.scenario.value import HourlyAir, Scenario
from simstore.sim.streams import stream
from simstore.units import DAYS_PER_YEAR, HOURS_PER_DAY

FloatArray = NDArray[np.float64]
LOWEST_RH_PCT = 1.0
HIGHEST_RH_PCT = 100.0


def room_air(scenario: Scenario, *, replication: int, days: int) -> Room:
    """Hourly air from the first midnight of the run, ``days`` long.

    Seasonal climates add a weather of their own in each replication; measured ones are the same in all.
    """
    climate = scenario.settings.climate
    if scenario.air is not None:
        temp_c, rh_pct = _measured(scenario.air, scenario.settings.start, days)
    else:
        temp_c, rh_pct = _season(climate, scenario.settings.start, days)
        seed = scenario.settings.seed
        temp_c = temp_c + climate.temp_noise_c * _weather(seed, replication, "temperature", days, climate.noise_h)
        rh_pct = rh_pct + climate.rh_noise_pct * _weather(seed, replication, "humidity", days, climate.noise_h)
    temp_c, rh_pct = _failures(scenario, temp_c, rh_pct)
    return _room(climate, temp_c, rh_pct)


def expected_air(scenario: Scenario, *, first_day: int, days: int) -> Room:
    """Hourly air without the weather's own noise, from day ``first_day`` of the run (which may lie before it)."""
    climate = scenario.settings.climate
    begin = date.fromordinal(scenario.settings.start.toordinal() + first_day)
    if scenario.air is not None:
        temp_c, rh_pct = _measured(scenario.air, begin, days)
    else:
        temp_c, rh_pct = _season(climate, begin, days)
    return _room(climate, temp_c, rh_pct)


def _room(climate: Climate, temp_c: FloatArray, rh_pct: FloatArray) -> Room:
    return Room.from_hours(
        temp_c + climate.shift_c, np.clip(rh_pct + climate.shift_rh_pct, LOWEST_RH_PCT, HIGHEST_RH_PCT)
    )


def _failures(scenario: Scenario, temp_c: FloatArray, rh_pct: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shift the hours in which the room's air handling fails."""
    temp_c, rh_pct = temp_c.copy(), rh_pct.copy()
    for incident in scenario.settings.incidents:
        if incident.what in ("air_handling_out", "power_cut"):
            first = max((incident.starts - scenario.settings.start).days, 0) * HOURS_PER_DAY
            hours = slice(first, first + round(incident.days * HOURS_PER_DAY))
            temp_c[hours] += incident.shift_c
            rh_pct[hours] += incident.shift_rh_pct
    return temp_c, rh_pct


def _season(climate: Climate, begin: date, days: int) -> tuple[FloatArray, FloatArray]:
    day_of_year = begin.timetuple().tm_yday + np.arange(days * HOURS_PER_DAY) / HOURS_PER_DAY
    turn = 2.0 * np.pi / DAYS_PER_YEAR
    temp_c = climate.temp_mean_c + climate.temp_swing_c * np.cos(turn * (day_of_year - climate.temp_peak_day))
    rh_pct = climate.rh_mean_pct + climate.rh_swing_pct * np.cos(turn * (day_of_year - climate.rh_peak_day))
    return temp_c, rh_pct


def _measured(air: HourlyAir, begin: date, days: int) -> tuple[FloatArray, FloatArray]:
    """Cut ``days`` out of the measured air, which is repeated as often as needed."""
    first = (begin.timetuple().tm_yday - air.first_day_of_year) * HOURS_PER_DAY
    hours = (first + np.arange(days * HOURS_PER_DAY)) % len(air.temp_c)
    return air.temp_c[hours], air.rh_pct[hours]


def _weather(seed: int, replication: int, quantity: str, days: int, noise_h: float) -> FloatArray:
    """First-order autoregression of unit variance, hourly, correlated over ``noise_h`` hours."""
    keep = float(np.exp(-1.0 / noise_h))
    rng = stream(seed, replication, "weather", quantity)
    shocks = (rng.standard_normal(days * HOURS_PER_DAY + 1) * np.sqrt(1.0 - keep * keep)).tolist()
    value = shocks[0] / np.sqrt(1.0 - keep * keep)
    values = []
    for shock in shocks[1:]:
        value = keep * value + shock
        values.append(value)
    return np.asarray(values, dtype=np.float64)
