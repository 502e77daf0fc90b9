"""Two water stores side by side: the exact step of the linear pair, for thousands of enclosures at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_SERIES_BELOW: Final = 0.01
_TINY: Final = 1e-300


@dataclass(slots=True)
class PairMatrix:
    """Exponential of the pair's matrix, and its integral over the step, as far as the air goes.

    With d and e the offsets of air and gel from the room at the start of a step: ``air_air d + air_gel e`` is the
    offset of the air at the end, ``mean_air d + mean_gel e`` its integral over the step [s].
    """

    air_air: FloatArray
    air_gel: FloatArray
    mean_air: FloatArray
    mean_gel: FloatArray


@dataclass(slots=True)
class PairStep:
    """One exact step of the pair in its eigenvectors: a fast and a slow mode.

    Attributes
    ----------
    a, c : ndarray
        Elements of the matrix: -a is air on air, c is gel on air. [1/s]
    gap : ndarray
        Difference of the two rates. [1/s]
    a_less_slow : ndarray
        ``a`` less the slow rate. [1/s]
    fast_end, slow_end : ndarray
        What is left of each mode at the end of the step.
    fast_mean, slow_mean : ndarray
        Integral of each mode over the step, from 1 at its start. [s]
    """

    a: FloatArray
    c: FloatArray
    gap: FloatArray
    a_less_slow: FloatArray
    fast_end: FloatArray
    slow_end: FloatArray
    fast_mean: FloatArray
    slow_mean: FloatArray

    def matrix(self) -> PairMatrix:
        """Give the same step as a matrix for the offsets of air and gel."""
        alpha1 = (self.slow_end - self.fast_end) / self.gap
        beta1 = (self.slow_mean - self.fast_mean) / self.gap
        return PairMatrix(
            air_air=self.slow_end - self.a_less_slow * alpha1,
            air_gel=alpha1 * self.c,
            mean_air=self.slow_mean - self.a_less_slow * beta1,
            mean_gel=beta1 * self.c,
        )


def pair_step(
    capacity: FloatArray, wall: FloatArray, packet: FloatArray, slope: FloatArray, step_s: FloatArray | float
) -> PairStep:
    r"""Solve one step of the pair exactly.

    With :math:`a = (g_w + g_p)/K`, :math:`b = g_p s/m`, :math:`c = g_p/K` the eigenvalues are
    :math:`-\lambda_{1,2} = -(a+b)/2 \mp \sqrt{((a-b)/2)^2 + b c}`; the smaller is taken from the determinant
    :math:`b g_w / K`, which loses no digits.

    Parameters
    ----------
    capacity : ndarray, shape (...)
        Water of air and packing at 100 %RH, K. [kg]
    wall, packet : ndarray, shape (...)
        Conductances at saturation pressure, g. [kg/s]
    slope : ndarray, shape (...)
        Relative humidity over the gel per kilogram of water on it. [1/kg]
    step_s : float or ndarray
        Length of the step. [s]
    """
    a = (wall + packet) / capacity
    b = packet * slope
    c = packet / capacity
    half = 0.5 * (a - b)
    gap = np.sqrt(half * half + b * c)
    fast = np.maximum(0.5 * (a + b) + gap, _TINY)
    gap = np.maximum(gap + gap, _TINY)
    slow = b * wall / capacity / fast
    fast_end = np.exp(-fast * step_s)
    fast_mean = (1.0 - fast_end) / fast
    x = slow * step_s
    if x.max() < _SERIES_BELOW:
        # Horner's form of (1 - exp(-x))/x; what is left out is below x^5/720.
        slow_mean = 1.0 - 0.5 * x * (1.0 - x / 3.0 * (1.0 - 0.25 * x * (1.0 - 0.2 * x)))
        slow_mean *= step_s
    else:
        slow_mean = np.where(x > _TINY, -np.expm1(-x) / np.maximum(slow, _TINY), step_s)
    return PairStep(
        a=a,
        c=c,
        gap=gap,
        a_less_slow=a - slow,
        fast_end=fast_end,
        slow_end=1.0 - slow * slow_mean,
        fast_mean=fast_mean,
        slow_mean=slow_mean,
    )
