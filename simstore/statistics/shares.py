"""The share of simulated years that keep the promise: exact limits, and how many years a claim needs."""

from __future__ import annotations

import math
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


def clear_years_needed(share: float, *, confidence: float = 0.95) -> int:
    """Years that must all meet the standard before anyone may claim at least ``share``.

    The least n with ``share**n <= 1 - confidence``: the one-sided Clopper-Pearson limit without a single miss.

    References
    ----------
    .. [1] G. J. Hahn and W. Q. Meeker, "Statistical Intervals", Wiley, 1991 (demonstration with zero failures).
    """
    error = 1.0 - _checked(confidence, "confidence")
    share = _checked(share, "share")
    years = max(1, math.ceil(math.log(error) / math.log(share)))
    while years > 1 and share ** (years - 1) <= error:
        years -= 1
    while share**years > error:
        years += 1
    return years


def years_to_prove(share: float, target: float, *, confidence: float = 0.95, power: float = 0.9, most: int) -> int:
    """Years to simulate so that a plan of true ``share`` proves itself above ``target`` with chance ``power``.

    The power of an exact test rises in a saw-tooth; the answer is the first number of years that reaches ``power``.

    Parameters
    ----------
    share : float
        True share of the plan, in 0..1.
    target : float
        Share that must be exceeded by the lower limit.
    confidence : float
        One-sided confidence of the proof.
    power : float
        Wanted probability that the proof succeeds.
    most : int
        Answer if no number of years up to here is enough.

    Returns
    -------
    int
        Number of years, at most ``most``.

    References
    ----------
    .. [1] C. Chernick and C. Y. Liu, "The saw-toothed behavior of power versus sample size and software solutions:
       single binomial proportion using exact methods", The American Statistician 56, 2002, 149-155.
    """
    from scipy.special import bdtr

    error = 1.0 - _checked(confidence, "confidence")
    target = _checked(target, "target")
    if share <= target:
        return most
    misses = -1  # grows with the years, so each number of years starts where the last one ended
    for years in range(clear_years_needed(target, confidence=confidence), most):
        while float(bdtr(float(misses + 1), years, 1.0 - target)) < error:
            misses += 1
        if misses >= 0 and float(bdtr(float(misses), years, 1.0 - share)) >= power:
            return years
    return most


def _checked(value: float, name: str) -> float:
    if not 0.0 < value < 1.0:
        msg = f"{name} must lie between 0 and 1, got {value:g}"
        raise ValueError(msg)
    return value
