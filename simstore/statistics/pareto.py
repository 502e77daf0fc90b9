"""Plans that no other plan beats: least cost against most held."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def pareto_front(
    cost: ArrayLike, held: ArrayLike, *, cost_tolerance: float = 0.0, held_tolerance: float = 0.0
) -> NDArray[np.bool_]:
    """Mark the plans that no other plan beats.

    A plan beats another if it costs no more and holds no less, and is better in one of the two by more than the
    tolerance. So plans that are equal, or better only within the tolerance, stay side by side. A plan with a missing
    number is never on the front and beats nobody.

    Parameters
    ----------
    cost : array_like, shape (plans,)
        Cost of each plan, to be low.
    held : array_like, shape (plans,)
        Share held by each plan, to be high.
    cost_tolerance, held_tolerance : float
        Differences not worth telling apart, in the units of ``cost`` and ``held``; at least 0.

    Returns
    -------
    ndarray of bool, shape (plans,)
        True for the plans on the front.

    References
    ----------
    .. [1] K. Miettinen, "Nonlinear Multiobjective Optimization", Kluwer, 1999, section 2.2 (Pareto optimality).
    """
    c, h = np.asarray(cost, dtype=np.float64), np.asarray(held, dtype=np.float64)
    if c.shape != h.shape or c.ndim != 1:
        msg = f"cost and held must be rows of equal length, got shapes {c.shape} and {h.shape}"
        raise ValueError(msg)
    if cost_tolerance < 0.0 or held_tolerance < 0.0:
        msg = f"tolerances must be at least 0, got {cost_tolerance:g} and {held_tolerance:g}"
        raise ValueError(msg)
    known = ~(np.isnan(c) | np.isnan(h))
    front = known.copy()
    for i in np.flatnonzero(known):  # a row at a time keeps the memory small for many plans; NaN compares as False
        no_worse = (c <= c[i]) & (h >= h[i])
        better = (c[i] - c > cost_tolerance) | (h - h[i] > held_tolerance)
        front[i] = not np.any(no_worse & better)
    return front


def front_order(cost: ArrayLike, held: ArrayLike, front: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Order the plans on the ``front`` from the cheapest to the dearest, then by what they hold, then by place."""
    c, h = np.asarray(cost, dtype=np.float64), np.asarray(held, dtype=np.float64)
    chosen = np.flatnonzero(front)
    return chosen[np.lexsort((chosen, h[chosen], c[chosen]))]
