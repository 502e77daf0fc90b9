"""An isotherm from a data sheet's table, carried to other temperatures at constant adsorption potential."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.air import kelvin
from simstore.physics.arrays import FloatArray, floats
from simstore.physics.isotherm import (
    ACTIVITY_FLOOR,
    SLOPE_FLOOR,
    WATER_FLOOR_KG_PER_KG,
    FromLogActivity,
    LogTerms,
    checked_activity,
)
from simstore.units import ZERO_CELSIUS_K

HALVINGS: Final = 60


@dataclass(frozen=True, slots=True, eq=False)
class Tabulated(FromLogActivity):
    """Relative humidity against water by a monotone cubic through the table's points.

    The curve starts at the origin. If the table ends below saturation, it goes on to saturation with the slope of its
    last two points. At another temperature the potential ``A = -R T ln h`` belongs to the same q (Polanyi), so
    ``ln h(T) = (T0/T) ln h(T0)``.

    Attributes
    ----------
    measured_at_c : float
        Temperature of the table. [degC]
    activity_points : array_like, shape (n,)
        Relative humidity as fractions above 0 and up to 1, rising; a first point of 0 with no water is allowed.
    q_points : array_like, shape (n,)
        Water per dry sorbent at those points, rising. [kg/kg]

    References
    ----------
    .. [1] F. N. Fritsch and J. Butland, "A method for constructing local monotone piecewise cubic interpolants",
       SIAM J. Sci. Stat. Comput. 5 (1984) 300.
    """

    measured_at_c: float
    activity_points: Sequence[float] | FloatArray
    q_points: Sequence[float] | FloatArray
    _q: FloatArray = field(init=False, repr=False)
    _h: FloatArray = field(init=False, repr=False)
    _cubic: FloatArray = field(init=False, repr=False)

    def __post_init__(self) -> None:
        kelvin(self.measured_at_c)
        q, h = _knots(floats(self.activity_points), floats(self.q_points))
        object.__setattr__(self, "_q", q)
        object.__setattr__(self, "_h", h)
        object.__setattr__(self, "_cubic", _monotone_cubic(q, h))

    @property
    def capacity_kg_per_kg(self) -> float:
        """Water at saturation [kg/kg]."""
        return float(self._q[-1])

    def cubics(self) -> FloatArray:
        """Give water and activity at each knot and the three coefficients of the cubic behind it, shape (5, knots)."""
        rows = np.zeros((5, self._q.size))
        rows[0], rows[1] = self._q, self._h
        rows[2:, :-1] = self._cubic
        return rows

    def uptake_kg_per_kg(self, activity: ArrayLike, temp_c: ArrayLike) -> FloatArray:
        """Return q [kg/kg] in equilibrium with air of this relative humidity (fraction 0..1) and temperature [degC]."""
        h = np.maximum(checked_activity(activity), ACTIVITY_FLOOR)
        target = np.exp(np.log(h) * kelvin(temp_c) / (self.measured_at_c + ZERO_CELSIUS_K))
        at = np.clip(np.searchsorted(self._h, target, side="right") - 1, 0, self._h.size - 2)
        low, high = self._q[at], self._q[at + 1]
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            above = self._measured(middle)[0] > target
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        return np.asarray(0.5 * (low + high))

    def log_activity_terms(self, q: ArrayLike, temp_c: ArrayLike) -> LogTerms:
        """Return ln h, d(ln h)/d(1/T) at constant q [K], and d(ln h)/dq [kg/kg]; see `Isotherm`."""
        water = np.maximum(floats(q), WATER_FLOOR_KG_PER_KG)
        h, slope = self._measured(np.minimum(water, self._q[-1]))
        ln_measured = np.log(h)
        measured_k = self.measured_at_c + ZERO_CELSIUS_K
        ratio = measured_k / (floats(temp_c) + ZERO_CELSIUS_K)
        ln_h = np.minimum(ratio * ln_measured, 0.0)
        by_inverse_temperature = np.broadcast_to(measured_k * ln_measured, ln_h.shape)
        return ln_h, by_inverse_temperature, np.maximum(ratio * slope / h, SLOPE_FLOOR)

    def _measured(self, q: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Activity at the table's temperature and its slope against q; q within the table."""
        at = np.clip(np.searchsorted(self._q, q, side="right") - 1, 0, self._q.size - 2)
        a, b, c = self._cubic[:, at]
        s = q - self._q[at]
        return self._h[at] + s * (a + s * (b + s * c)), a + s * (2.0 * b + s * 3.0 * c)


def _knots(h: FloatArray, q: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Check the table, begin it at the origin and end it at saturation."""
    if h.ndim != 1 or h.shape != q.shape:
        msg = f"activity_points and q_points must be two lists of one length, got shapes {h.shape} and {q.shape}"
        raise ValueError(msg)
    if h.size and h[0] == 0.0 and q[0] == 0.0:
        h, q = h[1:], q[1:]
    if h.size < 2:
        msg = f"a table needs at least 2 points above 0 %RH, got {h.size}"
        raise ValueError(msg)
    h, q = np.concatenate(([0.0], h)), np.concatenate(([0.0], q))
    if not (np.all(np.diff(h) > 0.0) and np.all(np.diff(q) > 0.0) and h[-1] <= 1.0 and np.isfinite(q[-1])):
        msg = "activity_points must rise from above 0 to at most 1, and q_points must rise from above 0"
        raise ValueError(msg)
    if h[-1] < 1.0:
        end = q[-1] + (1.0 - h[-1]) * (q[-1] - q[-2]) / (h[-1] - h[-2])
        h, q = np.append(h, 1.0), np.append(q, end)
    return q, h


def _monotone_cubic(x: FloatArray, y: FloatArray) -> FloatArray:
    """Coefficients, shape (3, n - 1), of the cubic in each interval of rising points; end slopes are the secants."""
    dx = np.diff(x)
    secant = np.diff(y) / dx
    # Weighted harmonic mean of the neighbouring secants: never steeper than three times the flatter one.
    alpha = (dx[:-1] + 2.0 * dx[1:]) / (3.0 * (dx[:-1] + dx[1:]))
    inner = secant[:-1] * secant[1:] / (alpha * secant[1:] + (1.0 - alpha) * secant[:-1])
    slope = np.concatenate((secant[:1], inner, secant[-1:]))
    b = (3.0 * secant - 2.0 * slope[:-1] - slope[1:]) / dx
    c = (slope[:-1] + slope[1:] - 2.0 * secant) / dx**2
    return np.stack((slope[:-1], b, c))
