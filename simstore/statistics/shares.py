"""The share of simulated years that keep the promise: exact limits, and how many years a claim needs."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Side = Literal["two", "lower", "upper"]


class ShareLimits(NamedTuple):
    """Exact limits for a share.

    Attributes
    ----------
    low, high : ndarray, shape (...)
        Lower and upper limit, in 0..1; a one-sided bound has 0 or 1 on its open side.
    """

    low: NDArray[np.float64]
    high: NDArray[np.float64]


def share_limits(met: ArrayLike, years: ArrayLike, *, confidence: float = 0.95, side: Side = "two") -> ShareLimits:
    """Clopper-Pearson limits for the share of years in which every metal class meets its standard.

    The coverage is never below ``confidence``, whatever the share and the number of years.

    Parameters
    ----------
    met : array_like of int, shape (...)
        Years in which the standard was met.
    years : array_like of int, shape (...)
        Simulated years (independent replications), at least 1.
    confidence : float
        Level of the statement, between 0 and 1.
    side : {"two", "lower", "upper"}
        ``"two"`` spends half of the error on each side, ``"lower"`` and ``"upper"`` all of it on one.

    Returns
    -------
    ShareLimits
        Limits of the broadcast shape.

    Raises
    ------
    ValueError
        If a count is impossible or the confidence lies outside 0..1.

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
       binomial", Biometrika 26, 1934, 404-413.
    .. [2] L. D. Brown, T. T. Cai and A. DasGupta, "Interval estimation for a binomial proportion", Statistical Science
       16, 2001, 101-133, section 4.2.1 (the limits as quantiles of the beta distribution).
    """
    from scipy.special import betaincinv

    met_, years_ = np.broadcast_arrays(np.asarray(met, dtype=np.float64), np.asarray(years, dtype=np.float64))
    if np.any(years_ < 1) or np.any(met_ < 0) or np.any(met_ > years_):
        msg = "met must lie in 0..years and years must be at least 1"
        raise ValueError(msg)
    if np.any(met_ != np.floor(met_)) or np.any(years_ != np.floor(years_)):
        msg = "met and years must be whole numbers"
        raise ValueError(msg)
    error = 1.0 - _checked(confidence, "confidence")
    tail = error / 2.0 if side == "two" else error
    low, high = np.zeros(met_.shape), np.ones(met_.shape)
    if side != "upper":
        some = met_ > 0
        low[some] = betaincinv(met_[some], years_[some] - met_[some] + 1.0, tail)
    if side != "lower":
        some = met_ < years_
        # the upper limit of the met years is one minus the lower limit of the missed ones
        high[some] = 1.0 - betaincinv(years_[some] - met_[some], met_[some] + 1.0, tail)
    return ShareLimits(low, high)


def _checked(value: float, name: str) -> float:
    if not 0.0 < value < 1.0:
        msg = f"{name} must lie between 0 and 1, got {value:g}"
        raise ValueError(msg)
    return value
