"""The room's hourly air for one replication, and the air that planners expect."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from simstore.physics.building import RoomModel, room_from_outdoors
from simstore.physics.room_hours import Room
from simstore.scenario.scenario import HourlyAir, Scenario
from simstore.scenario.values import room as scenario_room
from simstore.scenario.values.room import Climate
from simstore.store.luck import stream
from simstore.units import DAYS_PER_YEAR, HOURS_PER_DAY

FloatArray = NDArray[np.float64]
LOWEST_RH_PCT = 1.0
HIGHEST_RH_PCT = 100.0
COLDEST_C, HOTTEST_C = -40.0, 60.0
HOURS_PER_YEAR = int(DAYS_PER_YEAR) * HOURS_PER_DAY


def room_air(scenario: Scenario, *, replication: int, days: int) -> Room:
    """Hourly air from the first midnight of the run, ``days`` long.

    Seasonal climates add a weather of their own in each replication. Measured ones are the same in all, unless one
    year of several is drawn for each simulated year. Every year may be warmer or damper than the mean.
    """
    settings = scenario.settings
    climate = settings.climate
    if scenario.air is not None:
        temp_c, rh_pct = _measured(scenario.air, settings.start, days)
        if climate.resample_years:
            temp_c, rh_pct = _resampled(scenario, scenario.air, replication=replication, days=days)
    else:
        temp_c, rh_pct = _season(climate, settings.start, days)
        temp_c += climate.temp_noise_c * _weather(settings.seed, replication, "temperature", days, climate.noise_h)
        rh_pct += climate.rh_noise_pct * _weather(settings.seed, replication, "humidity", days, climate.noise_h)
    year = np.arange(days * HOURS_PER_DAY) // HOURS_PER_YEAR
    luck = stream(settings.seed, replication, "weather", "year").standard_normal((int(year[-1]) + 1, 2))
    temp_c = temp_c + climate.year_sd_c * luck[year, 0]
    rh_pct = rh_pct + climate.year_sd_rh_pct * luck[year, 1]
    out, shift_c, shift_rh_pct = _failures(scenario, days)
    if climate.room is not None:
        temp_c, rh_pct = _indoors(climate.room, temp_c + climate.shift_c, rh_pct + climate.shift_rh_pct, out)
        return Room.from_hours(_bearable(temp_c), np.clip(rh_pct, LOWEST_RH_PCT, HIGHEST_RH_PCT))
    return _room(climate, temp_c + shift_c, rh_pct + shift_rh_pct)


def expected_air(scenario: Scenario, *, first_day: int, days: int) -> Room:
    """Hourly air without the weather's own noise, from day ``first_day`` of the run (which may lie before it)."""
    climate = scenario.settings.climate
    begin = date.fromordinal(scenario.settings.start.toordinal() + first_day)
    if scenario.air is not None:
        temp_c, rh_pct = _measured(scenario.air, begin, days)
    else:
        temp_c, rh_pct = _season(climate, begin, days)
    if climate.room is not None:
        temp_c, rh_pct = _indoors(climate.room, temp_c + climate.shift_c, rh_pct + climate.shift_rh_pct, None)
        return Room.from_hours(_bearable(temp_c), np.clip(rh_pct, LOWEST_RH_PCT, HIGHEST_RH_PCT))
    return _room(climate, temp_c, rh_pct)


def _room(climate: Climate, temp_c: FloatArray, rh_pct: FloatArray) -> Room:
    return Room.from_hours(
        _bearable(temp_c + climate.shift_c), np.clip(rh_pct + climate.shift_rh_pct, LOWEST_RH_PCT, HIGHEST_RH_PCT)
    )


def _bearable(temp_c: FloatArray) -> FloatArray:
    """Temperatures that the equations of the air cover: a colder or hotter hour is taken as the coldest or hottest."""
    return np.clip(temp_c, COLDEST_C, HOTTEST_C)


def _indoors(
    room: scenario_room.RoomModel, temp_c: FloatArray, rh_pct: FloatArray, out: NDArray[np.bool_] | None
) -> tuple[FloatArray, FloatArray]:
    """Make the room's air from outdoor air."""
    model = RoomModel(
        volume_m3=room.volume_m3,
        air_changes_per_h=room.air_changes_per_h,
        lag_h=room.lag_h,
        gain_c=room.gain_c,
        heat_to_c=room.heat_to_c,
        moisture_gain_g_per_h=room.moisture_gain_g_per_h,
        moisture_factor=room.moisture_ratio,
        dehumidify_to_pct=room.dehumidify_to_pct,
        dehumidifier_kg_per_day=room.dehumidifier_kg_per_day,
        humidify_to_pct=room.humidify_to_pct,
    )
    return room_from_outdoors(model, _bearable(temp_c), np.clip(rh_pct, LOWEST_RH_PCT, HIGHEST_RH_PCT), out)


def _failures(scenario: Scenario, days: int) -> tuple[NDArray[np.bool_], FloatArray, FloatArray]:
    """Hours in which the room's plant is out, and what that does to a room whose plant is not modelled."""
    out = np.zeros(days * HOURS_PER_DAY, dtype=bool)
    shift_c, shift_rh_pct = np.zeros(len(out)), np.zeros(len(out))
    for incident in scenario.settings.incidents:
        if incident.what in ("air_handling_out", "power_cut"):
            first = (incident.starts - scenario.settings.start).days * HOURS_PER_DAY
            hours = slice(max(first, 0), max(first + round(incident.days * HOURS_PER_DAY), 0))
            out[hours] = True
            shift_c[hours] += incident.shift_c
            shift_rh_pct[hours] += incident.shift_rh_pct
    return out, shift_c, shift_rh_pct


def _resampled(scenario: Scenario, air: HourlyAir, *, replication: int, days: int) -> tuple[FloatArray, FloatArray]:
    """Draw one of the measured years for each simulated year."""
    measured = max(len(air.temp_c) // HOURS_PER_YEAR, 1)
    begin = (scenario.settings.start.timetuple().tm_yday - air.first_day_of_year) * HOURS_PER_DAY
    hour = np.arange(days * HOURS_PER_DAY)
    year = hour // HOURS_PER_YEAR
    drawn = stream(scenario.settings.seed, replication, "weather", "lot").integers(measured, size=int(year[-1]) + 1)
    place = (begin + hour) % HOURS_PER_YEAR + drawn[year] * HOURS_PER_YEAR
    return air.temp_c[place % len(air.temp_c)], air.rh_pct[place % len(air.temp_c)]


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
