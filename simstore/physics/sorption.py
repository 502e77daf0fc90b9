"""Isotherms of water on silica gel: Dubinin-Astakhov, Toth, a data sheet's table, and two branches with scanning.

Constants of the literature are given beside the classes that use them. The default is the narrow-pore gel of
Sapienza et al. 2017, which lies within 8 % of the measured points of Wang and LeVan 2009 at 13-77 %RH and 25 degC, and
some 20 % below them near 1 %RH. It has no hysteresis of its own; see `Branches`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.air import (
    CRITICAL_PA,
    GAS_CONSTANT_J_PER_MOL_K,
    R_VAPOUR_J_PER_KG_K,
    kelvin,
    saturation_logarithm,
    saturation_pressure_pa,
)
from simstore.physics.arrays import FloatArray, floats, positive
from simstore.physics.hysteresis import Branches
from simstore.physics.isotherm import (
    ACTIVITY_FLOOR,
    SLOPE_FLOOR,
    WATER_FLOOR_KG_PER_KG,
    FromLogActivity,
    Isotherm,
    LogTerms,
    checked_activity,
)
from simstore.physics.tabulated import Tabulated
from simstore.units import ZERO_CELSIUS_K

__all__ = ["NARROW_PORE_GEL", "Branches", "DubininAstakhov", "Isotherm", "LogTerms", "Tabulated", "Toth"]

LN_CRITICAL_PA: Final = float(np.log(CRITICAL_PA))

FULLNESS_FLOOR: Final = 1e-4
"""ln(capacity/q) below which the slope no longer changes."""

FULLEST_SHARE: Final = 0.999
"""Share of a Toth capacity above which the slope of overfull gel no longer rises."""

SHARE_ROUNDING: Final = 1e-12


@dataclass(frozen=True, slots=True)
class DubininAstakhov(FromLogActivity):
    r"""Pore filling by adsorption potential.

    .. math:: q = q_m \exp\left[-\left(\frac{A}{E}\right)^n\right], \qquad A = -R T \ln h

    Attributes
    ----------
    capacity_kg_per_kg : float
        Water at saturation, q_m. [kg/kg]
    energy_j_per_mol : float
        Characteristic energy E. [J/mol]
    exponent : float
        Heterogeneity exponent n.

    References
    ----------
    .. [1] M. M. Dubinin and V. A. Astakhov, Adv. Chem. 102 (1971) 69 (reference from memory, unverified).
    """

    capacity_kg_per_kg: float
    energy_j_per_mol: float
    exponent: float

    def __post_init__(self) -> None:
        positive("capacity_kg_per_kg", self.capacity_kg_per_kg, "kg/kg")
        positive("energy_j_per_mol", self.energy_j_per_mol, "J/mol")
        positive("exponent", self.exponent, "1")

    def uptake_kg_per_kg(self, activity: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        """Return q [kg/kg] in equilibrium with air of this relative humidity (fraction 0..1) and temperature [degC]."""
        h = np.maximum(checked_activity(activity), ACTIVITY_FLOOR)
        potential = -GAS_CONSTANT_J_PER_MOL_K * kelvin(temp_c) * np.log(h)
        return np.asarray(self.capacity_kg_per_kg * np.exp(-((potential / self.energy_j_per_mol) ** self.exponent)))

    def log_activity_terms(self, q: ArrayLike, temp_c: ArrayLike) -> LogTerms:
        """Return ln h, d(ln h)/d(1/T) at constant q [K], and d(ln h)/dq [kg/kg]; see `Isotherm`."""
        water = np.maximum(floats(q), WATER_FLOOR_KG_PER_KG)
        rt = GAS_CONSTANT_J_PER_MOL_K * (floats(temp_c) + ZERO_CELSIUS_K)
        emptiness = np.log(self.capacity_kg_per_kg / water)
        kept = np.maximum(emptiness, FULLNESS_FLOOR)
        potential = self.energy_j_per_mol * kept ** (1.0 / self.exponent)
        by_q = np.maximum(potential / (self.exponent * kept * water * rt), SLOPE_FLOOR)
        if np.any(emptiness < FULLNESS_FLOOR):
            emptiness = np.maximum(emptiness, 0.0)
            potential = self.energy_j_per_mol * emptiness ** (1.0 / self.exponent)
        ln_h = -potential / rt
        by_inverse_temperature = potential / -GAS_CONSTANT_J_PER_MOL_K
        if by_inverse_temperature.shape != ln_h.shape:
            by_inverse_temperature = np.broadcast_to(by_inverse_temperature, ln_h.shape)
        return ln_h, by_inverse_temperature, by_q


@dataclass(frozen=True, slots=True)
class Toth(FromLogActivity):
    r"""Toth's isotherm with a Henry constant that follows van 't Hoff.

    .. math:: q = \frac{K p}{[1 + (K p/q_m)^t]^{1/t}}, \qquad K = K_0 \exp\frac{\Delta H}{R_v T}

    Mind the unit of K0: the literature prints the same digits per Pa and, a thousand times larger, per kPa.

    Attributes
    ----------
    k0_kg_per_kg_pa : float
        Pre-exponential Henry constant K0. [kg/(kg Pa)]
    heat_j_per_kg : float
        Isosteric heat, the same at all q. [J/kg]
    capacity_kg_per_kg : float
        Capacity q_m; q at saturation is lower. [kg/kg]
    exponent : float
        Heterogeneity exponent t.

    References
    ----------
    .. [1] H. T. Chua et al., Int. J. Heat Mass Transfer 47 (2004) 659 (narrow-pore gel, K0 7.30e-13 kg/(kg Pa),
       heat 2.693e6 J/kg, capacity 0.45, exponent 12; it overshoots the measured gel by 14-30 % at 20-80 %RH).
    """

    k0_kg_per_kg_pa: float
    heat_j_per_kg: float
    capacity_kg_per_kg: float
    exponent: float

    def __post_init__(self) -> None:
        positive("k0_kg_per_kg_pa", self.k0_kg_per_kg_pa, "kg/(kg Pa)")
        positive("heat_j_per_kg", self.heat_j_per_kg, "J/kg")
        positive("capacity_kg_per_kg", self.capacity_kg_per_kg, "kg/kg")
        positive("exponent", self.exponent, "1")

    def uptake_kg_per_kg(self, activity: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        """Return q [kg/kg] in equilibrium with air of this relative humidity (fraction 0..1) and temperature [degC]."""
        pressure = checked_activity(activity) * saturation_pressure_pa(temp_c)
        henry = self.k0_kg_per_kg_pa * np.exp(self.heat_j_per_kg / (R_VAPOUR_J_PER_KG_K * kelvin(temp_c)))
        x = henry * pressure / self.capacity_kg_per_kg
        # For large x the form above overflows; divided by x it does not.
        small = np.minimum(x, 1.0)
        ratio = np.where(x > 1.0, 1.0 / np.maximum(x, 1.0), small)
        share = np.where(x > 1.0, 1.0, small) / (1.0 + ratio**self.exponent) ** (1.0 / self.exponent)
        return np.asarray(self.capacity_kg_per_kg * share)

    def log_activity_terms(self, q: ArrayLike, temp_c: ArrayLike) -> LogTerms:
        """Return ln h, d(ln h)/d(1/T) at constant q [K], and d(ln h)/dq [kg/kg]; see `Isotherm`."""
        water = np.maximum(floats(q), WATER_FLOOR_KG_PER_KG)
        t_c = floats(temp_c)
        share = np.minimum(water / self.capacity_kg_per_kg, 1.0 - SHARE_ROUNDING)
        room = 1.0 - share**self.exponent
        ln_pressure = (
            np.log(water / self.k0_kg_per_kg_pa)
            - np.log(room) / self.exponent
            - self.heat_j_per_kg / (R_VAPOUR_J_PER_KG_K * (t_c + ZERO_CELSIUS_K))
        )
        ln_saturation, saturation_by_inverse_temperature = saturation_logarithm(t_c)
        ln_h = ln_pressure - ln_saturation - LN_CRITICAL_PA
        by_inverse_temperature = -self.heat_j_per_kg / R_VAPOUR_J_PER_KG_K - saturation_by_inverse_temperature
        full = (ln_h >= 0.0) | (water >= self.capacity_kg_per_kg)
        room = np.where(full, np.maximum(room, 1.0 - FULLEST_SHARE**self.exponent), room)
        by_q = np.maximum(1.0 / (water * room), SLOPE_FLOOR)
        return np.where(full, 0.0, ln_h), np.where(full, 0.0, by_inverse_temperature), by_q


# Sapienza et al., Renewable Energy 110 (2017) 40: fitted to isobars of 1.0-3.9 kPa at 30-146 degC.
NARROW_PORE_GEL: Final = DubininAstakhov(capacity_kg_per_kg=0.38, energy_j_per_mol=3962.2, exponent=1.1)
"""Narrow-pore (A-type) silica gel of Sapienza et al. 2017, the default."""
