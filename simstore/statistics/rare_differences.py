"""Values that are the same in nearly all runs: in how many they are another, and in what share of runs they may be."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

FEW_DIFFERENT = 4
"""So few values that differ from the commonest one say little of how far apart they may lie."""


def rarely_different(values: FloatArray, *, confidence: float = 0.95) -> str:
    """Say how often a value may differ from the commonest one, if few of them do; empty otherwise.

    The limit is the one-sided exact one: of 12 equal values up to 1 - 0.05^(1/12) = 22 % may be others.

    Parameters
    ----------
    values : ndarray, shape (replications,)
        Replications.
    confidence : float
        Level of the one-sided limit.

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
       binomial", Biometrika 26, 1934, 404-413.
    """
    from scipy.special import betaincinv

    n = values.size
    different = runs_unlike_most(values)
    if different is None:
        return ""
    found, counts = np.unique(np.round(values, 9), return_counts=True)
    high = 100.0 * float(betaincinv(different + 1, n - different, confidence)) if different < n else 100.0
    others = "no other value" if different == 0 else f"another value than {found[counts.argmax()]:g} {different} times"
    return f"{others} in {n} runs; up to {high:.0f} % of runs may give another"


def most_unseen_pct(runs: int, *, confidence: float = 0.95) -> float:
    """Largest share of runs that may be of a sort of which ``runs`` runs show none, 1 - (1 - confidence)^(1/n). [%].

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
       binomial", Biometrika 26, 1934, 404-413 (the one-sided limit at no success).
    """
    return 100.0 * (1.0 - math.pow(1.0 - confidence, 1.0 / runs))


def runs_unlike_most(values: FloatArray) -> int | None:
    """Count the values other than the commonest one where they are few; None otherwise."""
    if values.size < 2:
        return None
    _, counts = np.unique(np.round(values, 9), return_counts=True)
    different = values.size - int(counts.max())
    return different if different <= min(FEW_DIFFERENT, values.size // 3) else None
