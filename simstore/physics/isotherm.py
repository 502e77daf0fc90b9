"""What every isotherm can do, and what follows from its logarithm alone."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Final, Protocol

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.air import R_VAPOUR_J_PER_KG_K, latent_heat_j_per_kg
from simstore.physics.arrays import FloatArray, floats_within

WATER_FLOOR_KG_PER_KG: Final = 1e-6
"""Logarithms are taken of no less water than this [kg/kg]."""

SLOPE_FLOOR: Final = 1e-3
"""Least d(ln h)/dq that is handed out, so that divisions by it are safe [kg/kg]."""

ACTIVITY_FLOOR: Final = 1e-300
ROUNDING: Final = 1e-9

LogTerms = tuple[FloatArray, FloatArray, FloatArray]


class Isotherm(Protocol):
    """Water on a sorbent in equilibrium with air.

    ``q`` is water per dry sorbent [kg/kg], ``activity`` is the relative humidity as a fraction 0..1, temperatures are
    in degC; all may be arrays that broadcast.
    """

    def uptake_kg_per_kg(self, activity: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        """Return q in equilibrium with air of this relative humidity (fraction 0..1)."""
        ...

    def activity(self, q: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        """Return the relative humidity (fraction 0..1) in equilibrium with q; 1 above the capacity."""
        ...

    def log_activity_terms(self, q: ArrayLike, temp_c: ArrayLike) -> LogTerms:
        """Return ln h, d(ln h)/d(1/T) at constant q [K], and d(ln h)/dq [kg/kg, above 0].

        This is the hot path: temperatures are not checked, q is not refused but floored at 1e-6. Above the capacity
        ln h is 0 and d(ln h)/dq keeps about the value it has just below, so that an implicit step stays damped.
        """
        ...

    def isosteric_heat_j_per_kg(self, q: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        """Return the heat that frees a kilogram of water at constant q, from the same curve [J/kg]."""
        ...


class FromLogActivity(ABC):
    """Activity and heat of any isotherm that knows its logarithm."""

    @abstractmethod
    def log_activity_terms(self, q: ArrayLike, temp_c: ArrayLike) -> LogTerms:
        """Return ln h, d(ln h)/d(1/T) at constant q [K], and d(ln h)/dq [kg/kg]."""

    def activity(self, q: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        """Relative humidity in equilibrium with q.

        Parameters
        ----------
        q : array_like, shape (...)
            Water per dry sorbent, 0 or more. [kg/kg]
        temp_c : array_like, broadcast against ``q``
            Temperature. [degC]

        Returns
        -------
        ndarray
            Relative humidity as a fraction, 0..1; 1 above the capacity. Below the floor of 1e-6 kg/kg it falls in
            proportion to q.
        """
        water = floats_within("q", q, 0.0, np.inf, "kg/kg")
        ln_h, _, _ = self.log_activity_terms(water, temp_c)
        share = np.minimum(water / WATER_FLOOR_KG_PER_KG, 1.0)
        return np.asarray(np.minimum(np.exp(ln_h), 1.0) * share)

    def isosteric_heat_j_per_kg(self, q: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        r"""Heat of desorption by Clausius-Clapeyron on the isotherm itself, with ``p = h psat``.

        .. math:: Q = -R_v \left(\frac{\partial \ln p}{\partial (1/T)}\right)_q
                    = L(T) - R_v \left(\frac{\partial \ln h}{\partial (1/T)}\right)_q

        Parameters
        ----------
        q : array_like, shape (...)
            Water per dry sorbent, 0 or more. [kg/kg]
        temp_c : array_like, broadcast against ``q``
            Temperature, -40..200. [degC]

        Returns
        -------
        ndarray
            Isosteric heat. [J/kg of water]
        """
        water = floats_within("q", q, 0.0, np.inf, "kg/kg")
        latent = latent_heat_j_per_kg(temp_c)
        _, by_inverse_temperature, _ = self.log_activity_terms(water, temp_c)
        return np.asarray(latent - R_VAPOUR_J_PER_KG_K * by_inverse_temperature)


def checked_activity(activity: ArrayLike) -> FloatArray:
    """Return ``activity`` as floats in 0..1 (round-off above 1 is cut), or refuse it."""
    h = floats_within("activity", activity, 0.0, 1.0 + ROUNDING, "(a fraction, not %)")
    return np.minimum(h, 1.0)
