"""Trade formulas for how much desiccant, from standards and conservation practice.

They answer a narrower question than the simulation (one pack, one climate, one time) and stand here as a second
opinion beside its result, each with the units and the constants of its source.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.air import vapour_content_g_per_m3
from simstore.physics.arrays import FloatArray, floats, floats_above_zero, floats_within

# DIN 55474: final relative humidity [%], uptake of one unit [g], correction factor of the film's transmission.
DIN_FINAL_RH_PCT: Final = (20, 40, 50, 60)
DIN_UNIT_G: Final = (3.0, 6.0, 7.0, 8.0)
DIN_FACTOR: Final = (0.9, 0.7, 0.65, 0.6)
DIN_CLIMATE_G_PER_M3: Final = 13.83
"""Vapour content of the standard's climate, 20 degC and 80 %RH."""
DIN_UNITS_PER_PACKING_KG: Final = 20.0

# JIS Z 0301: temperature effect of the flux through low-density polyethylene, 1/(%RH).
JIS_K1_TEMP_C: Final = (10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)
JIS_K1: Final = (0.63e-3, 1.05e-3, 1.8e-3, 2.8e-3, 4.5e-3, 7.0e-3, 11.1e-3)

GEL_SHARE_OF_EMPTY_SPACE: Final = 1.0 / 3.0
"""Gel fills one third of the empty space of an enclosure (common practice, no source)."""


def whole_units(units: ArrayLike) -> FloatArray:
    """Units to take: rounded up, with a ten-thousandth of a unit forgiven."""
    return np.asarray(np.ceil(floats_within("units", units, 0.0, np.inf, "units") - 1e-4))


def din_55474_units(
    *,
    volume_m3: ArrayLike,
    packing_kg: ArrayLike,
    packing_water_g_per_kg: ArrayLike,
    film_m2: ArrayLike,
    film_g_per_m2_day: ArrayLike,
    duration_days: ArrayLike,
    final_rh_pct: int,
    climate_g_per_m3: ArrayLike = DIN_CLIMATE_G_PER_M3,
) -> FloatArray:
    """Desiccant units by DIN 55474: air, packing and film, over what a unit takes up.

    Parameters
    ----------
    volume_m3 : array_like, shape (...)
        Volume inside the barrier. [m3]
    packing_kg : array_like, broadcast
        Hygroscopic packing. [kg]
    packing_water_g_per_kg : array_like, broadcast
        Water that it may give off; printed editions disagree, 80 or 140. [g/kg]
    film_m2 : array_like, broadcast
        Area of the barrier film. [m2]
    film_g_per_m2_day : array_like, broadcast
        Its water vapour transmission rate. [g/(m2 d)]
    duration_days : array_like, broadcast
        Storage time. [d]
    final_rh_pct : int
        Humidity allowed at the end: 20, 40, 50 or 60. [%]
    climate_g_per_m3 : array_like, broadcast
        Vapour content of the air packed in. [g/m3]

    Returns
    -------
    ndarray
        Units, not rounded; see `whole_units`.

    References
    ----------
    .. [1] DIN 55474, "Packaging - Desiccants - Calculation of the number of desiccant units".
    """
    at = _din_row(final_rh_pct)
    air_g = _amount("volume_m3", volume_m3, "m3") * floats(climate_g_per_m3)
    packing_g = _amount("packing_kg", packing_kg, "kg") * floats(packing_water_g_per_kg)
    film_g = _amount("film_m2", film_m2, "m2") * DIN_FACTOR[at] * floats(film_g_per_m2_day) * floats(duration_days)
    return np.asarray((air_g + packing_g + film_g) / DIN_UNIT_G[at])


def din_55474_simplified_units(
    *,
    film_m2: ArrayLike,
    film_g_per_m2_day: ArrayLike,
    duration_days: ArrayLike,
    packing_kg: ArrayLike,
    final_rh_pct: int = 40,
) -> FloatArray:
    """Units by the short form of DIN 55474: film without correction factor, 20 units for a kilogram of packing."""
    film_g = _amount("film_m2", film_m2, "m2") * floats(film_g_per_m2_day) * floats(duration_days)
    packing = _amount("packing_kg", packing_kg, "kg")
    return np.asarray(film_g / DIN_UNIT_G[_din_row(final_rh_pct)] + DIN_UNITS_PER_PACKING_KG * packing)


def jis_z_0301_w_g(
    *,
    film_g_per_m2_day: ArrayLike,
    film_m2: ArrayLike,
    duration_days: ArrayLike,
    outside_rh_pct: ArrayLike,
    inside_rh_pct: ArrayLike,
    k1_per_pct: ArrayLike,
    final_water_pct: ArrayLike,
    first_water_pct: ArrayLike,
    packing_g: ArrayLike = 0.0,
    k2: ArrayLike = 0.0,
) -> FloatArray:
    """Desiccant by JIS Z 0301-1989: W = R A t (h1 - h2) K1 / [(C2 - C1) 0.01] + K2 D.

    Parameters
    ----------
    film_g_per_m2_day : array_like, shape (...)
        Transmission rate R of the film at 40 degC and 90 %RH. [g/(m2 d)]
    film_m2 : array_like, broadcast
        Film area A. [m2]
    duration_days : array_like, broadcast
        Storage time t. [d]
    outside_rh_pct, inside_rh_pct : array_like, broadcast
        Mean humidity outside h1 and inside h2. [%]
    k1_per_pct : array_like, broadcast
        Effect of the temperature, from `jis_k1_per_pct`. [1/%RH]
    final_water_pct, first_water_pct : array_like, broadcast
        Water of the desiccant in the end C2 and at the start C1. [% of dry mass]
    packing_g, k2 : array_like, broadcast
        Hygroscopic packing D [g] and its factor K2.

    Returns
    -------
    ndarray
        Mass of desiccant. [g]
    """
    room = floats_above_zero(
        "final_water_pct - first_water_pct", floats(final_water_pct) - floats(first_water_pct), "%"
    )
    flux = floats(film_g_per_m2_day) * _amount("film_m2", film_m2, "m2") * floats(duration_days)
    drive = (floats(outside_rh_pct) - floats(inside_rh_pct)) * floats(k1_per_pct)
    return np.asarray(flux * drive / (0.01 * room) + floats(k2) * _amount("packing_g", packing_g, "g"))


def jis_k1_per_pct(temp_c: ArrayLike) -> FloatArray:
    """Temperature effect K1 of JIS Z 0301 at 10..40 degC, log-linear between the printed points. [1/%RH]."""
    t = floats_within("temp_c", temp_c, JIS_K1_TEMP_C[0], JIS_K1_TEMP_C[-1], "degC")
    return np.asarray(np.exp(np.interp(t, JIS_K1_TEMP_C, np.log(JIS_K1))))


def conservation_gel_kg(
    *,
    temp_c: ArrayLike,
    rh_difference_pct: ArrayLike,
    volume_m3: ArrayLike,
    leak_per_day: ArrayLike,
    duration_days: ArrayLike,
    capacity_g_per_kg_pct: ArrayLike,
    rh_range_pct: ArrayLike,
) -> FloatArray:
    """Gel for a case by the conservation formula Q = Ceq D V N t / (M_H F) (equation from memory, unverified).

    Parameters
    ----------
    temp_c : array_like, shape (...)
        Temperature, which gives the saturated vapour content Ceq. [degC]
    rh_difference_pct : array_like, broadcast
        Difference of relative humidity between room and case, 100 D. [%]
    volume_m3 : array_like, broadcast
        Air volume V of the case. [m3]
    leak_per_day : array_like, broadcast
        Air changes N. [1/d]
    duration_days : array_like, broadcast
        Time t. [d]
    capacity_g_per_kg_pct : array_like, broadcast
        Moisture reservoir M_H of the gel. [g/(kg %RH)]
    rh_range_pct : array_like, broadcast
        Fluctuation F that is allowed. [%]

    Returns
    -------
    ndarray
        Gel. [kg]

    References
    ----------
    .. [1] J. Tetreault and P. Begin, "Silica gel: passive control of relative humidity", Technical Bulletin 33,
       Canadian Conservation Institute, 2018.
    """
    drive = vapour_content_g_per_m3(temp_c, 100.0) * floats(rh_difference_pct) / 100.0
    air = _amount("volume_m3", volume_m3, "m3") * floats(leak_per_day) * floats(duration_days)
    reservoir = floats_above_zero("capacity_g_per_kg_pct", capacity_g_per_kg_pct, "g/(kg %RH)")
    return np.asarray(drive * air / (reservoir * floats_above_zero("rh_range_pct", rh_range_pct, "%RH")))


def third_of_empty_space_kg(empty_m3: ArrayLike, bulk_kg_per_m3: ArrayLike) -> FloatArray:
    """Gel that fills one third of the empty space of an enclosure (common practice, no source). [kg]."""
    bulk = floats_above_zero("bulk_kg_per_m3", bulk_kg_per_m3, "kg/m3")
    return np.asarray(GEL_SHARE_OF_EMPTY_SPACE * _amount("empty_m3", empty_m3, "m3") * bulk)


def _amount(name: str, values: ArrayLike, unit: str) -> FloatArray:
    return floats_within(name, values, 0.0, np.inf, unit)


def _din_row(final_rh_pct: int) -> int:
    if final_rh_pct not in DIN_FINAL_RH_PCT:
        msg = f"final_rh_pct must be one of {', '.join(map(str, DIN_FINAL_RH_PCT))} %RH, got {final_rh_pct:g}"
        raise ValueError(msg)
    return DIN_FINAL_RH_PCT.index(final_rh_pct)
