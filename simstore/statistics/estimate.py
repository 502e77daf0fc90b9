"""What the replications say about a mean or a share, with a confidence interval."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

LEVEL: Final = 0.95
"""Confidence level of every interval unless said otherwise."""


class Estimate(NamedTuple):
    """A mean with its two-sided interval; NaN where the replications cannot tell."""

    mean: float
    low: float
    high: float


def mean_interval(values: Sequence[float], level: float = LEVEL) -> Estimate:
    """Mean of independent values with the interval of `simstore.statistics.intervals.mean_interval`.

    Parameters
    ----------
    values : sequence of float
        One value a replication; NaN are left out.
    level : float
        Confidence level, between 0 and 1.

    Returns
    -------
    Estimate
        ``low`` and ``high`` are NaN for fewer than two values.
    """
    _check_level(level)
    known = [float(value) for value in values if not math.isnan(value)]
    count = len(known)
    if count == 0:
        return Estimate(math.nan, math.nan, math.nan)
    mean = math.fsum(known) / count
    if count == 1:
        return Estimate(mean, math.nan, math.nan)
    from simstore.statistics import intervals

    found = intervals.mean_interval(known, confidence=level)
    return Estimate(mean, found.low, found.high)


def share_interval(successes: int, trials: int, level: float = LEVEL) -> Estimate:
    """Share of successes with the exact interval of Clopper and Pearson.

    Parameters
    ----------
    successes, trials : int
        0 <= successes <= trials, trials at least 1.
    level : float
        Confidence level, between 0 and 1.

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
       binomial", Biometrika 26(4), 1934, pp. 404-413.
    """
    _check_level(level)
    if not 0 <= successes <= trials or trials < 1:
        msg = f"successes must lie in 0..trials and trials be at least 1, got {successes} and {trials}"
        raise ValueError(msg)
    from scipy.special import betaincinv  # lazy: costs a noticeable part of a second

    tail = (1 - level) / 2
    low = float(betaincinv(successes, trials - successes + 1, tail)) if successes else 0.0
    high = float(betaincinv(successes + 1, trials - successes, 1 - tail)) if successes < trials else 1.0
    return Estimate(successes / trials, low, high)


def _check_level(level: float) -> None:
    if not 0 < level < 1:
        msg = f"level must lie between 0 and 1, got {level:g}"
        raise ValueError(msg)
