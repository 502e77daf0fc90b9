r"""Unknowns of one sort that inform each other: each lies on a grid, and they scatter about a common middle.

Of unit i the data give a likelihood :math:`L_i(x)`. The units of a sort are taken as normal about a middle :math:`m`
with a spread :math:`s`, both unknown. Everything is summed over grids, without simulation:

.. math:: p(m, s \mid data) \propto p(m) p(s) \prod_i \sum_x L_i(x) \, N(x; m, s), \qquad
          p(x_i \mid data) = \sum_{m, s} p(m, s \mid data) \frac{L_i(x_i) N(x_i; m, s)}{\sum_x L_i(x) N(x; m, s)} .

So a unit that was measured little leans on the others, and one that was measured well stands by itself.

References
----------
D. V. Lindley and A. F. M. Smith, "Bayes estimates for the linear model", J. R. Statist. Soc. B 34, 1972, 1-41
(exchangeable units).
A. Gelman, "Prior distributions for variance parameters in hierarchical models", Bayesian Analysis 1, 2006, 515-534
(half-normal spread; from memory, unverified).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
MIDDLES: Final = 61
SPREADS: Final = 36
LEAST_SPREAD: Final = 0.03
REACH: Final = 3.0
"""Middles are looked for so many of their prior deviations away."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """What is known afterwards.

    Attributes
    ----------
    grid : ndarray, shape (points,)
    units : ndarray, shape (units, points)
        Probability of each point for each unit; rows sum to 1.
    middles, spreads : ndarray
        Grids of the common middle and spread.
    common : ndarray, shape (middles, spreads)
        Their joint probability; sums to 1.
    """

    grid: FloatArray
    units: FloatArray
    middles: FloatArray
    spreads: FloatArray
    common: FloatArray

    def unit_quantiles(self, unit: int, shares: FloatArray) -> FloatArray:
        """Points below which such shares of what is believed of a unit lie."""
        return quantiles(self.grid, self.units[unit], shares)

    def middle_quantiles(self, shares: FloatArray) -> FloatArray:
        """Quantiles of the common middle."""
        return quantiles(self.middles, self.common.sum(axis=1), shares)

    def spread_quantiles(self, shares: FloatArray) -> FloatArray:
        """Quantiles of the common spread."""
        return quantiles(self.spreads, self.common.sum(axis=0), shares)


def pooled(log_likelihood: FloatArray, grid: FloatArray, *, middle: float, middle_sd: float, spread: float) -> Pooled:
    """Pool units of one sort.

    Parameters
    ----------
    log_likelihood : ndarray, shape (units, points)
        Of each unit's data at each point of the grid; a constant may be missing.
    grid : ndarray, shape (points,)
        Evenly spaced.
    middle, middle_sd : float
        What is believed of the common middle beforehand, a normal distribution.
    spread : float
        Scale of a half-normal distribution of the common spread beforehand.
    """
    middles = np.linspace(middle - REACH * middle_sd, middle + REACH * middle_sd, MIDDLES)
    spreads = np.geomspace(LEAST_SPREAD, max(REACH * spread, 2 * LEAST_SPREAD), SPREADS)
    likelihood = np.exp(log_likelihood - log_likelihood.max(axis=1, keepdims=True))
    scatter = np.exp(-0.5 * ((grid[None, None, :] - middles[:, None, None]) / spreads[None, :, None]) ** 2)
    scatter /= np.maximum(scatter.sum(axis=2, keepdims=True), 1e-300)
    marginal = np.maximum(np.einsum("msx,ux->ums", scatter, likelihood), 1e-300)
    log_common = np.log(marginal).sum(axis=0)
    log_common -= 0.5 * ((middles[:, None] - middle) / middle_sd) ** 2 + 0.5 * (spreads[None, :] / spread) ** 2
    log_common += np.log(spreads)[None, :]  # the grid of spreads is even in its logarithm
    common = np.exp(log_common - log_common.max())
    common /= common.sum()
    weights = np.einsum("ms,ums,msx->ux", common, 1.0 / marginal, scatter)
    units = likelihood * weights
    return Pooled(grid, units / units.sum(axis=1, keepdims=True), middles, spreads, common)


def quantiles(grid: FloatArray, mass: FloatArray, shares: FloatArray) -> FloatArray:
    """Points of a grid below which such shares of a mass lie; between points it is linear."""
    edges = np.concatenate([grid[:1], 0.5 * (grid[1:] + grid[:-1]), grid[-1:]])
    below = np.concatenate([[0.0], np.cumsum(mass)])
    found: FloatArray = np.interp(shares, below / below[-1], edges)
    return found
