"""Two water stores side by side: the exact step of the linear pair, for thousands of enclosures at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_SERIES_BELOW: Final = 0.02
_TINY: Final = 1e-300


@dataclass(slots=True)
class PairStep:
    """One exact step of the offsets of air (d) and gel (e) from the room, in matrix and in modal form."""

    air_air: FloatArray
    air_gel: FloatArray
    mean_air: FloatArray
    mean_gel: FloatArray
    c: FloatArray
    gap: FloatArray
    a_less_slow: FloatArray
    fast_end: FloatArray
    slow_end: FloatArray
    fast_mean: FloatArray
    slow_mean: FloatArray


def pair_step(
    capacity: FloatArray, wall: FloatArray, packet: FloatArray, slope: FloatArray, step_s: FloatArray | float
) -> PairStep:
    r"""Exponential of the 2 x 2 matrix of the pair and its integral, in closed form.

    With :math:`a = (g_w + g_p)/K`, :math:`b = g_p s/m`, :math:`c = g_p/K` the eigenvalues are
    :math:`-\lambda_{1,2} = -(a+b)/2 \mp \sqrt{((a-b)/2)^2 + b c}`; the smaller is taken from the determinant
    :math:`b g_w / K`, which loses no digits.
    """
    a = (wall + packet) / capacity
    b = packet * slope
    c = packet / capacity
    gap = np.sqrt((0.5 * (a - b)) ** 2 + b * c)
    fast = np.maximum(0.5 * (a + b) + gap, _TINY)
    gap = np.maximum(2.0 * gap, _TINY)
    slow = b * wall / capacity / fast
    fast_end = np.exp(-fast * step_s)
    fast_mean = (1.0 - fast_end) / fast
    x = slow * step_s
    if x.max() < _SERIES_BELOW:
        slow_mean = 1.0 - x / 7.0
        for n in (6.0, 5.0, 4.0, 3.0, 2.0):
            slow_mean *= x
            slow_mean *= -1.0 / n
            slow_mean += 1.0
        slow_mean *= step_s
    else:
        slow_mean = np.where(x > _TINY, -np.expm1(-x) / np.maximum(slow, _TINY), step_s)
    slow_end = 1.0 - slow * slow_mean
    alpha1 = (slow_end - fast_end) / gap
    beta1 = (slow_mean - fast_mean) / gap
    return PairStep(
        air_air=slow_end + (slow - a) * alpha1,
        air_gel=alpha1 * c,
        mean_air=slow_mean + (slow - a) * beta1,
        mean_gel=beta1 * c,
        c=c,
        gap=gap,
        a_less_slow=a - slow,
        fast_end=fast_end,
        slow_end=slow_end,
        fast_mean=fast_mean,
        slow_mean=slow_mean,
    )
