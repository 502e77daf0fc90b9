r"""The air of an unconditioned or lightly conditioned room from the weather outside, hour by hour.

Temperature follows the outdoor air with a lag and a gain, and is kept from falling below a heating set point. The
vapour in the room is well mixed:

.. math:: \beta V \dot\rho = n V (\rho_{out} - \rho) + S - D

with n air changes an hour, a moisture gain S, a dehumidifier D that works only above its set point and no faster than
its capacity, and a factor :math:`\beta \ge 1` for water that walls and shelves take up and give back. Each hour is the
exact exponential for constant outdoor air, with the dehumidifier off, at full capacity, or between the two so that the
hour ends at its set point. Well-mixed balance: any text on building physics; the one lumped capacity
for temperature is a simplification of ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simstore.physics.air import R_VAPOUR_J_PER_KG_K, saturation_pressure_pa
from simstore.physics.arrays import FloatArray
from simstore.units import HOURS_PER_DAY, ZERO_CELSIUS_K


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomModel:
    """A room and its plant.

    Attributes
    ----------
    volume_m3 : float
        Air volume. [m3]
    air_changes_per_h : float
        With outdoor air. [1/h]
    lag_h : float
        Time constant of the temperature. [h]
    gain_c : float
        Mean excess over the outdoor air from sun, ground and lights. [K]
    heat_to_c : float
        Heating keeps the room from falling below this; -40 for none. [degC]
    moisture_gain_g_per_h : float
        From people, ground and wet finds. [g/h]
    moisture_factor : float
        Capacity of room and fabric over that of the air alone, 1 or more.
    dehumidify_to_pct : float
        Set point of a dehumidifier; 100 for none. [%RH]
    dehumidifier_kg_per_day : float
        Its capacity. [kg/d]
    humidify_to_pct : float
        Set point of a humidifier; 0 for none. [%RH]
    """

    volume_m3: float
    air_changes_per_h: float
    lag_h: float = 24.0
    gain_c: float = 0.0
    heat_to_c: float = -40.0
    moisture_gain_g_per_h: float = 0.0
    moisture_factor: float = 3.0
    dehumidify_to_pct: float = 100.0
    dehumidifier_kg_per_day: float = 0.0
    humidify_to_pct: float = 0.0


def room_from_outdoors(
    model: RoomModel, outdoor_c: FloatArray, outdoor_rh_pct: FloatArray, plant_out: NDArray[np.bool_] | None = None
) -> tuple[FloatArray, FloatArray]:
    """Hourly temperature and relative humidity of the room.

    Parameters
    ----------
    model : RoomModel
        Room and plant.
    outdoor_c, outdoor_rh_pct : ndarray, shape (hours,)
        Outdoor air. [degC, %RH]
    plant_out : ndarray of bool, shape (hours,), optional
        Hours without heating, dehumidifier and humidifier.

    Returns
    -------
    temp_c, rh_pct : ndarray, shape (hours,)
        Air of the room; the first hour starts in balance with the first day outside and the gains.
    """
    hours = len(outdoor_c)
    out = np.zeros(hours, dtype=bool) if plant_out is None else plant_out
    temp_c = _temperature(model, outdoor_c, out)
    content = saturation_pressure_pa(outdoor_c) * outdoor_rh_pct / 100.0
    content /= R_VAPOUR_J_PER_KG_K * (outdoor_c + ZERO_CELSIUS_K)
    full = saturation_pressure_pa(temp_c) / (R_VAPOUR_J_PER_KG_K * (temp_c + ZERO_CELSIUS_K))
    return temp_c, _vapour(model, content, full, out) / full * 100.0


def _temperature(model: RoomModel, outdoor_c: FloatArray, out: NDArray[np.bool_]) -> FloatArray:
    keep = math.exp(-1.0 / model.lag_h)
    temp = float(outdoor_c[:HOURS_PER_DAY].mean()) + model.gain_c
    temps = np.empty(len(outdoor_c))
    for k, outside in enumerate((outdoor_c + model.gain_c).tolist()):
        temp = outside + (temp - outside) * keep
        if not out[k]:
            temp = max(temp, model.heat_to_c)
        temps[k] = temp
    return temps


def _vapour(model: RoomModel, content: FloatArray, full: FloatArray, out: NDArray[np.bool_]) -> FloatArray:
    """Vapour content of the room's air [kg/m3]."""
    rate = model.air_changes_per_h / model.moisture_factor
    keep = math.exp(-rate)
    gain = model.moisture_gain_g_per_h / 1000.0 / model.volume_m3
    # What an hour at full capacity takes away while the air changes go on: (D/nV) (1 - exp(-n/beta)).
    full_kg_per_h = model.dehumidifier_kg_per_day / HOURS_PER_DAY
    most = full_kg_per_h / (model.air_changes_per_h * model.volume_m3) * -math.expm1(-rate)
    levels = np.empty(len(content))
    steady = content + gain / model.air_changes_per_h
    level = float(steady[:HOURS_PER_DAY].mean())
    highest = full * min(model.dehumidify_to_pct, 100.0) / 100.0
    lowest = full * model.humidify_to_pct / 100.0
    for k, (target, ceiling, floor, saturated) in enumerate(
        zip(steady.tolist(), highest.tolist(), lowest.tolist(), full.tolist(), strict=True)
    ):
        level = target + (level - target) * keep
        if not out[k]:
            if level > ceiling:
                level = max(ceiling, level - most)
            level = max(level, floor)
        level = min(level, saturated)
        levels[k] = level
    return levels
