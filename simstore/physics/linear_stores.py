r"""A chain of water stores with linear flows between them, solved exactly over a step of any length.

Store i holds :math:`C_i x_i` kilograms at the relative humidity x_i; with f the flows into the stores at the start,
:math:`C \dot x = f - L (x - x_0)` has the solution

.. math::
    x(t) = x_0 + D\,Q\,t\varphi_1(\Lambda t)\,Q^T D f, \quad
    \frac1t\int_0^t x = x_0 + D\,Q\,t\varphi_2(\Lambda t)\,Q^T D f,

where :math:`D = C^{-1/2}`, :math:`D L D = Q \Lambda Q^T`, :math:`\varphi_1(z) = (1 - e^{-z})/z` and
:math:`\varphi_2(z) = (1 - \varphi_1(z))/z`. The matrix of a chain is symmetric and tridiagonal; implicit QL steps find
its eigenvectors (G. H. Golub and C. F. Van Loan, "Matrix Computations", 4th ed., 2013, section 8.3; B. T. Smith and
others, "Matrix Eigensystem Routines: EISPACK Guide", 2nd ed., 1976, routine TQL2).
"""

from __future__ import annotations

import math
from typing import Final

from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled

SERIES_BELOW: Final = 0.02
MOST_STEPS: Final = 60
NEGLIGIBLE: Final = 1e-15
"""Coupling, relative to the rates that it couples, below which two stores are apart."""


@compiled
def phi(z: float) -> tuple[float, float]:
    """Give phi1 and phi2 of a rate times a time, 0 or more."""
    if z < SERIES_BELOW:
        phi2 = 0.5 - z * (1.0 / 6.0 - z * (1.0 / 24.0 - z * (1.0 / 120.0 - z * (1.0 / 720.0 - z / 5040.0))))
        return 1.0 - z * phi2, phi2
    phi1 = -math.expm1(-z) / z
    return phi1, (1.0 - phi1) / z


@compiled
def diagonalise(size: int, rates: FloatArray, couplings: FloatArray, vectors: FloatArray) -> None:
    """Find the eigenvalues and eigenvectors of a symmetric tridiagonal matrix.

    Parameters
    ----------
    size : int
        Stores.
    rates : ndarray, shape (size or more,)
        The diagonal; out: the eigenvalues.
    couplings : ndarray, shape (size or more,)
        What stands beside the diagonal, from the first pair on; its last place is working space.
    vectors : ndarray, shape (size or more, size or more)
        Out: eigenvectors, as columns.
    """
    for i in range(size):
        for j in range(size):
            vectors[i, j] = 0.0
        vectors[i, i] = 1.0
    couplings[size - 1] = 0.0
    for first in range(size):
        for _ in range(MOST_STEPS):
            last = first
            while last < size - 1:
                if abs(couplings[last]) <= NEGLIGIBLE * (abs(rates[last]) + abs(rates[last + 1])):
                    break
                last += 1
            if last == first:
                break
            _ql_step(size, first, last, rates, couplings, vectors)


@compiled
def _ql_step(size: int, first: int, last: int, rates: FloatArray, couplings: FloatArray, vectors: FloatArray) -> None:
    """One implicit QL step with Wilkinson's shift on the stores from ``first`` to ``last``."""
    half = (rates[first + 1] - rates[first]) / (2.0 * couplings[first])
    shift = half + math.copysign(math.sqrt(half * half + 1.0), half)
    g = rates[last] - rates[first] + couplings[first] / shift
    sine, cosine, moved = 1.0, 1.0, 0.0
    for i in range(last - 1, first - 1, -1):
        f, b = sine * couplings[i], cosine * couplings[i]
        length = math.sqrt(f * f + g * g)
        couplings[i + 1] = length
        if length == 0.0:
            rates[i + 1] -= moved
            couplings[last] = 0.0
            return
        sine, cosine = f / length, g / length
        g = rates[i + 1] - moved
        r = (rates[i] - g) * sine + 2.0 * cosine * b
        moved = sine * r
        rates[i + 1] = g + moved
        g = cosine * r - b
        for k in range(size):
            f = vectors[k, i + 1]
            vectors[k, i + 1] = sine * vectors[k, i] + cosine * f
            vectors[k, i] = cosine * vectors[k, i] - sine * f
    rates[first] -= moved
    couplings[first] = g
    couplings[last] = 0.0
