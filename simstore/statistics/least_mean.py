"""Selection of the plan with the least mean cost: Kim and Nelson's fully sequential procedure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

IntArray = NDArray[np.intp]
FloatArray = NDArray[np.float64]
Draw = Callable[[IntArray, int], ArrayLike]
"""``draw(systems, replication)``: one cost per asked system, all from the luck of that replication."""


class KimNelsonConstants(NamedTuple):
    """What sets the width of the continuation region; without unit."""

    eta: float
    h_squared: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Elimination:
    """A system that left, and after how many replications."""

    system: int
    replications: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """What the procedure found.

    Attributes
    ----------
    best : int
        Index of the selected system.
    survivors : tuple of int
        Systems that were never eliminated; more than one if the last stage or the budget ended the procedure.
    certain : bool
        Whether the procedure ran to its end, so that its error holds; False if ``most`` replications ended it.
    replications : ndarray of int, shape (systems,)
        Replications spent on each system.
    means : ndarray, shape (systems,)
        Mean cost of each system over its own replications.
    looks : int
        How often the data were compared.
    eliminated : tuple of Elimination
        In the order of leaving.
    """

    best: int
    survivors: tuple[int, ...]
    certain: bool
    replications: IntArray
    means: FloatArray
    looks: int
    eliminated: tuple[Elimination, ...]


def kim_nelson_constants(systems: int, *, first: int, error: float) -> KimNelsonConstants:
    r"""Constants of the procedure with c = 1, valid under common random numbers.

    .. math:: \eta = \tfrac12\left[\left(\frac{2\alpha}{k-1}\right)^{-2/(n_0-1)} - 1\right],\quad h^2 = 2\eta(n_0-1)

    Parameters
    ----------
    systems : int
        Number k of systems, at least 2.
    first : int
        Number n0 of replications in the first stage, at least 2.
    error : float
        Allowed probability alpha of a wrong selection.

    References
    ----------
    .. [1] S.-H. Kim and B. L. Nelson, "A fully sequential procedure for indifference-zone selection in simulation", ACM
       Trans. Model. Comput. Simul. 11, 2001, 251-273.
    """
    if systems < 2 or first < 2:
        msg = f"selection needs at least 2 systems and 2 first replications, got {systems} and {first}"
        raise ValueError(msg)
    if not 0.0 < error < 1.0 - 1.0 / systems:
        msg = f"error must lie between 0 and 1 - 1/{systems}, got {error:g}"
        raise ValueError(msg)
    eta = 0.5 * ((2.0 * error / (systems - 1)) ** (-2.0 / (first - 1)) - 1.0)
    return KimNelsonConstants(eta, 2.0 * eta * (first - 1))


def select_least(
    draw: Draw, systems: int, *, indifference: float, error: float = 0.05, first: int = 20, most: int | None = None
) -> Selection:
    """Select the system of least mean cost, dropping the others as soon as the data allow.

    If the best is better than every other by at least ``indifference``, it is selected with probability at least
    ``1 - error``, for normally distributed costs of unequal variances, independent or under common random numbers.
    Replications must be independent of each other: reusing a replication's luck breaks the promise.

    Parameters
    ----------
    draw : callable
        ``draw(systems, replication)`` gives one cost per system index asked for. Replications count from 0.
    systems : int
        Number of systems, at least 2.
    indifference : float
        Smallest difference of mean cost worth finding, above 0, in the unit of the costs.
    error : float
        Allowed probability of a wrong selection.
    first : int
        Replications of the first stage, from which the variances of the differences are estimated; 10 to 20 are usual.
    most : int, optional
        Stop after this many replications even if undecided; the answer is then marked as not certain.

    Returns
    -------
    Selection
        The selected system, the survivors and what was spent.

    References
    ----------
    .. [1] S.-H. Kim and B. L. Nelson, "A fully sequential procedure for indifference-zone selection in simulation", ACM
       Trans. Model. Comput. Simul. 11, 2001, 251-273, procedure KN with c = 1.
    """
    if indifference <= 0.0:
        msg = f"indifference must be above 0, got {indifference:g}"
        raise ValueError(msg)
    constants = kim_nelson_constants(systems, first=first, error=error)
    everyone = np.arange(systems, dtype=np.intp)
    pilot = np.array([_costs(draw, everyone, r) for r in range(first)])
    squared = variances_of_differences(pilot)
    # W(r) = max(0, (delta / 2) (h2 S2 / delta^2 - r) / r) for means, here multiplied by r for sums
    reach = constants.h_squared * squared / indifference**2
    sums, counts = pilot.sum(axis=0), np.full(systems, first, dtype=np.intp)
    alive, gone, r, looks = everyone, list[Elimination](), first, 0
    while True:
        looks += 1
        width = np.maximum(0.0, 0.5 * indifference * (reach[np.ix_(alive, alive)] - r))
        excess = sums[alive][:, None] - sums[alive][None, :]
        worse = np.any(excess > width, axis=1)
        gone += [Elimination(system=int(i), replications=r) for i in alive[worse]]
        alive = alive[~worse]
        last = float(np.floor(reach[np.ix_(alive, alive)].max())) + 1.0
        if alive.size == 1 or r >= last or (most is not None and r >= most):
            break
        sums[alive] += _costs(draw, alive, r)
        counts[alive] += 1
        r += 1
    means = sums / counts
    return Selection(
        best=int(alive[np.argmin(means[alive])]),
        survivors=tuple(int(i) for i in alive),
        certain=bool(alive.size == 1 or r >= last),
        replications=counts,
        means=means,
        looks=looks,
        eliminated=tuple(gone),
    )


def variances_of_differences(pilot: FloatArray) -> FloatArray:
    """Sample variance of the paired difference of every two systems.

    Parameters
    ----------
    pilot : ndarray, shape (replications, systems)
        Costs of the first stage.

    Returns
    -------
    ndarray, shape (systems, systems)
        Variances, zero on the diagonal, in the square of the costs' unit.
    """
    out = np.empty((pilot.shape[1], pilot.shape[1]))
    for i in range(pilot.shape[1]):  # row by row: the whole block would be large for many systems
        out[i] = np.var(pilot[:, [i]] - pilot, axis=0, ddof=1)
    return out


def _costs(draw: Draw, systems: IntArray, replication: int) -> FloatArray:
    costs = np.asarray(draw(systems, replication), dtype=np.float64)
    if costs.shape != systems.shape or not np.all(np.isfinite(costs)):
        msg = f"draw must give one finite cost for each of {systems.size} systems, got shape {costs.shape}"
        raise ValueError(msg)
    return costs
