r"""A figure over a grid of points, carried from the few points where it was measured to all others.

Measurements give the figure, with noise, at some points. Its distance from their mean is taken as a random field: a
shift for all points, a shift for each group, and a part that changes smoothly with the coordinates,

.. math:: \operatorname{cov}(f_i, f_j) = \sigma^2 \left[\tfrac14 + g_{ij}\left(\tfrac14
          + \tfrac12 e^{-|x_i - x_j|^2 / 2\ell^2}\right)\right],

with :math:`g_{ij} = 1` in one group and 0 otherwise. Mean and variance at every point given the measurements are those
of Gaussian regression (kriging); :math:`\sigma` and :math:`\ell` are the most likely of a few.

References
----------
C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning", MIT Press, 2006, section 2.2 and
equations 2.25, 2.26 and 2.30.
"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
LENGTHS = (0.3, 0.6, 1.2)
"""Lengths tried, in units of a coordinate's whole range."""
SCALES = (0.25, 0.5, 1.0, 2.0, 4.0)
"""Amplitudes tried, in units of the one that is expected."""
SURELY = 2.0
"""Spread, in the logarithm of the amplitude, of what is believed of it beforehand."""
LEAST_NOISE = 1e-6


class SmoothField:
    """A figure over a grid of points.

    Parameters
    ----------
    places : ndarray, shape (points, coordinates)
        Coordinates, each in 0..1.
    groups : ndarray of int, shape (points,)
        Group of each point; different groups share a shift only.
    expected : float
        Standard deviation of the figure over the grid that is expected before anything is measured.
    """

    def __init__(self, places: FloatArray, groups: NDArray[np.intp], expected: float) -> None:
        self.places, self.groups, self.expected = places, groups, expected

    def given(self, at: NDArray[np.intp], measured: FloatArray, noise: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and standard deviation of the figure at every point, given measurements at some.

        Parameters
        ----------
        at : ndarray of int, shape (n,)
            Points that were measured, at least one.
        measured : ndarray, shape (n,)
            The figure there.
        noise : ndarray, shape (n,)
            Standard deviation of each measurement.
        """
        count = len(self.places)
        middle = float(np.mean(measured))
        errors = measured - middle
        distance = self._squares(at, at)
        alike = self.groups[at][:, None] == self.groups[at][None, :]
        best: tuple[Any, ...] | None = None
        for length, scale in itertools.product(LENGTHS, SCALES):
            amplitude = self.expected * scale
            matrix = _covariance(distance, alike, amplitude, length)
            matrix[np.diag_indices_from(matrix)] += np.maximum(noise, LEAST_NOISE) ** 2
            lower = np.linalg.cholesky(matrix)
            white = np.linalg.solve(lower, errors)
            likely = -0.5 * float(white @ white) - float(np.log(np.diag(lower)).sum())
            likely -= 0.5 * (np.log(scale) / SURELY) ** 2
            if best is None or likely > best[0]:
                best = (likely, amplitude, length, lower)
        assert best is not None
        _, amplitude, length, lower = best
        towards = _covariance(
            self._squares(np.arange(count), at), self.groups[:, None] == self.groups[at][None, :], amplitude, length
        )
        weights = np.linalg.solve(lower, towards.T)
        mean = weights.T @ np.linalg.solve(lower, errors)
        variance = amplitude**2 - np.einsum("ij,ij->j", weights, weights)
        return np.asarray(middle + mean), np.sqrt(np.maximum(variance, 0.0))

    def _squares(self, these: NDArray[np.intp], those: NDArray[np.intp]) -> FloatArray:
        """Squared distances, shape (these, those)."""
        a, b = self.places[these], self.places[those]
        squares: FloatArray = (a * a).sum(axis=1)[:, None] + (b * b).sum(axis=1)[None, :] - 2.0 * a @ b.T
        return np.asarray(np.maximum(squares, 0.0))


def _covariance(squares: FloatArray, alike: NDArray[np.bool_], amplitude: float, length: float) -> FloatArray:
    smooth = 0.25 + 0.5 * np.exp(-0.5 * squares / length**2)
    return np.asarray(amplitude**2 * (0.25 + np.where(alike, smooth, 0.0)))
