"""Walls of boxes and bags: air exchange, film permeation, and layers in series.

All conductances are in kg/(s Pa): kilograms of water vapour a second per pascal of vapour pressure difference.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.air import GAS_CONSTANT_J_PER_MOL_K, R_VAPOUR_J_PER_KG_K, kelvin
from simstore.physics.arrays import FloatArray, floats_above_zero, floats_within
from simstore.units import SECONDS_PER_DAY

LEAST_CONDUCTANCE_KG_PER_S_PA = 1e-150
"""Stands for a layer that lets nothing through, where a resistance is needed."""


def air_exchange_m3_per_s(leak_per_day: ArrayLike, volume_m3: ArrayLike) -> FloatArray:
    """Air that comes in and goes out, N V.

    Parameters
    ----------
    leak_per_day : array_like, shape (...)
        Air changes of the volume, 0 or more. [1/d]
    volume_m3 : array_like, broadcast
        Air volume that they refer to, 0 or more. [m3]

    Returns
    -------
    ndarray
        Flow. [m3/s]
    """
    leak = floats_within("leak_per_day", leak_per_day, 0.0, np.inf, "1/d")
    return np.asarray(leak / SECONDS_PER_DAY * floats_within("volume_m3", volume_m3, 0.0, np.inf, "m3"))


def air_exchange_conductance_kg_per_s_pa(
    leak_per_day: ArrayLike, volume_m3: ArrayLike, temp_c: ArrayLike
) -> FloatArray:
    r"""Conductance of air exchange, N V/(R_v T).

    Parameters
    ----------
    leak_per_day : array_like, shape (...)
        Air changes of the volume, 0 or more. [1/d]
    volume_m3 : array_like, broadcast
        Air volume that they refer to, 0 or more. [m3]
    temp_c : array_like, broadcast
        Temperature, -40..200. [degC]

    Returns
    -------
    ndarray
        Conductance. [kg/(s Pa)]
    """
    return np.asarray(air_exchange_m3_per_s(leak_per_day, volume_m3) / (R_VAPOUR_J_PER_KG_K * kelvin(temp_c)))


def film_permeability(
    *,
    permeability_kg_per_m_s_pa: ArrayLike,
    measured_at_c: ArrayLike,
    activation_kj_per_mol: ArrayLike,
    temp_c: ArrayLike,
) -> FloatArray:
    r"""Permeability of a film carried from the temperature of its measurement to another (Arrhenius).

    .. math:: P(T) = P_0 \exp\left[-\frac{E}{R}\left(\frac{1}{T} - \frac{1}{T_0}\right)\right]

    The activation energy is that of the permeability against vapour *pressure*. A transmission rate in g/(m2 d) at a
    fixed relative humidity rises faster, since the saturation pressure rises too.

    Parameters
    ----------
    permeability_kg_per_m_s_pa : array_like, shape (...)
        Measured permeability, 0 or more. [kg/(m s Pa)]
    measured_at_c : array_like, broadcast
        Temperature of the measurement. [degC]
    activation_kj_per_mol : array_like, broadcast
        Activation energy, 0 or more. [kJ/mol]
    temp_c : array_like, broadcast
        Temperature wanted, -40..200. [degC]

    Returns
    -------
    ndarray
        Permeability. [kg/(m s Pa)]
    """
    measured = floats_within("permeability_kg_per_m_s_pa", permeability_kg_per_m_s_pa, 0.0, np.inf, "kg/(m s Pa)")
    energy = floats_within("activation_kj_per_mol", activation_kj_per_mol, 0.0, np.inf, "kJ/mol")
    colder = 1.0 / kelvin(temp_c) - 1.0 / kelvin(measured_at_c)
    return np.asarray(measured * np.exp(-1000.0 * energy / GAS_CONSTANT_J_PER_MOL_K * colder))


def film_conductance_kg_per_s_pa(
    permeability_kg_per_m_s_pa: ArrayLike, area_m2: ArrayLike, thickness_m: ArrayLike
) -> FloatArray:
    """Conductance of a film, permeability times area over thickness.

    Parameters
    ----------
    permeability_kg_per_m_s_pa : array_like, shape (...)
        Permeability at the film's temperature. [kg/(m s Pa)]
    area_m2 : array_like, broadcast
        Area, 0 or more. [m2]
    thickness_m : array_like, broadcast
        Thickness, above 0. [m]

    Returns
    -------
    ndarray
        Conductance. [kg/(s Pa)]
    """
    permeability = floats_within("permeability_kg_per_m_s_pa", permeability_kg_per_m_s_pa, 0.0, np.inf, "kg/(m s Pa)")
    area = floats_within("area_m2", area_m2, 0.0, np.inf, "m2")
    return np.asarray(permeability * area / floats_above_zero("thickness_m", thickness_m, "m"))


def layer_conductance_kg_per_s_pa(leak_kg_per_s_pa: ArrayLike, film_kg_per_s_pa: ArrayLike) -> FloatArray:
    """Conductance of one layer, its air exchange and its film side by side. [kg/(s Pa)]."""
    leak = floats_within("leak_kg_per_s_pa", leak_kg_per_s_pa, 0.0, np.inf, "kg/(s Pa)")
    return np.asarray(leak + floats_within("film_kg_per_s_pa", film_kg_per_s_pa, 0.0, np.inf, "kg/(s Pa)"))


def series_conductance(layers: ArrayLike, axis: int = 0) -> FloatArray:
    """Conductance of layers one behind the other; 0 if one of them lets nothing through.

    Parameters
    ----------
    layers : array_like, shape (..., n, ...)
        Conductances of the layers, 0 or more. [kg/(s Pa)]
    axis : int
        Axis along which they lie one behind the other.

    Returns
    -------
    ndarray
        Conductance of the whole, without that axis. [kg/(s Pa)]
    """
    each = floats_within("layers", layers, 0.0, np.inf, "kg/(s Pa)")
    through = 1.0 / np.sum(1.0 / np.maximum(each, LEAST_CONDUCTANCE_KG_PER_S_PA), axis=axis)
    return np.asarray(np.where(np.any(each == 0.0, axis=axis), 0.0, through))
