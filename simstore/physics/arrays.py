"""Float arrays in and out: one alias and one way to refuse values outside a range."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def floats(values: ArrayLike) -> FloatArray:
    """Return ``values`` as a float64 array, without a copy where they are one already."""
    return np.asarray(values, dtype=np.float64)


def floats_within(name: str, values: ArrayLike, low: float, high: float, unit: str) -> FloatArray:
    """Return ``values`` as floats, or refuse them if any is outside ``low..high`` or not a number.

    Parameters
    ----------
    name : str
        The argument as the caller spells it, for the message.
    values : array_like, shape (...)
        What to check.
    low, high : float
        Both ends are allowed; an end may be infinite.
    unit : str
        Unit for the message.

    Returns
    -------
    ndarray, shape (...)
        The same values as float64.

    Raises
    ------
    ValueError
        If any value is outside the range or is not a number.
    """
    array = floats(values)
    if array.size and not (array.min() >= low and array.max() <= high):
        msg = f"{name} must lie in {low:g}..{high:g} {unit}, got {array.min():g}..{array.max():g}"
        raise ValueError(msg)
    return array


def floats_above_zero(name: str, values: ArrayLike, unit: str) -> FloatArray:
    """Return ``values`` as floats, or refuse them if any is zero, negative, infinite or not a number."""
    array = floats(values)
    if array.size and not (array.min() > 0.0 and array.max() < np.inf):
        msg = f"{name} must be above 0 and finite [{unit}], got {array.min():g}..{array.max():g}"
        raise ValueError(msg)
    return array


def positive(name: str, value: float, unit: str) -> None:
    """Refuse a scalar that is not a finite number above zero."""
    if not 0.0 < value < np.inf:
        msg = f"{name} must be above 0 and finite [{unit}], got {value:g}"
        raise ValueError(msg)
