"""Means and paired differences over replications: t intervals, several plans and looks at once, how many to run."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simstore.statistics.rare_differences import rarely_different, runs_unlike_most

FloatArray = NDArray[np.float64]
Key = TypeVar("Key", bound=Hashable)

# Sugden, Smith & Jones 2000 extend Cochran's rule n > 25 G1^2 to Studentised means; both coefficients are quoted
# from memory and unverified against print. The rule only decides whether a caution is added, never a number.
NO_SKEWNESS = 1e-9
ENOUGH_REPLICATIONS = 28
ENOUGH_PER_SKEWNESS_SQUARED = 25.0
CORRECTED = 3.0
"""So many times fewer values are asked of an interval that is put right for skewness."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanInterval:
    """A mean over replications with its interval, in the unit of the values.

    Attributes
    ----------
    mean, low, high : float
        Estimate and limits.
    sd : float
        Standard deviation between replications.
    replications : int
        Number of independent values.
    confidence : float
        Level of the interval.
    caution : str
        Why the level may be optimistic; empty if there is no reason to think so.
    rare_runs : int or None
        Of a difference that is the same in nearly all runs: in how many it is another. There is no interval then, but
        a limit on how many runs may be others (`rarely_different`).
    """

    mean: float
    low: float
    high: float
    sd: float
    replications: int
    confidence: float
    caution: str = ""
    rare_runs: int | None = None

    @property
    def half_width(self) -> float:
        """Half of the interval's length."""
        return (self.high - self.low) / 2.0

    @property
    def decided(self) -> bool:
        """Whether the interval leaves out zero, so that the sign of a difference is known."""
        return self.low > 0.0 or self.high < 0.0


def t_quantile(probability: float, degrees: int) -> float:
    """Quantile of Student's t distribution with ``degrees`` degrees of freedom."""
    from scipy.special import stdtrit

    return float(stdtrit(degrees, probability))


def mean_interval(values: ArrayLike, *, confidence: float = 0.95) -> MeanInterval:
    r"""Two-sided interval for the mean of independent replications, put right for their skewness.

    Held shares are skewed: most years are good, a few are not, and Student's interval of ten of them covers the truth
    in 87 to 91 cases of 100. Hall's transformation of Student's ratio :math:`W = (\bar x - \mu) / s`,

    .. math:: g(W) = W + \tfrac13 \gamma W^2 + \tfrac1{27} \gamma^2 W^3 + \tfrac{1}{6 n} \gamma,

    with the sample skewness :math:`\gamma` has next to no skewness left, and is undone at the quantiles of Student's
    distribution. The skewness of a few values is itself uncertain: of values that are heavy to both sides it shifts the
    interval away from the truth. So each limit is the farther one of Hall's and Student's (an assumption; its coverage
    is measured). Without skewness the interval is Student's.

    Parameters
    ----------
    values : array_like, shape (replications,)
        One number per replication, at least two.
    confidence : float
        Level of the interval, between 0 and 1.

    Raises
    ------
    ValueError
        If there are fewer than two values, or one is not finite.

    References
    ----------
    .. [1] Student, "The probable error of a mean", Biometrika 6, 1908, 1-25.
    .. [2] P. Hall, "On the removal of skewness by transformation", J. R. Statist. Soc. B 54, 1992, 221-228 (from
       memory; that it covers is measured in ``tests/statistics/test_coverage_of_means.py``).
    """
    x = np.asarray(values, dtype=np.float64)
    if x.ndim != 1 or x.size < 2 or not np.all(np.isfinite(x)):
        msg = f"an interval needs at least two finite values in one row, got {x.size} in shape {x.shape}"
        raise ValueError(msg)
    if not 0.0 < confidence < 1.0:
        msg = f"confidence must lie between 0 and 1, got {confidence:g}"
        raise ValueError(msg)
    # equal values have exactly no spread; their rounded mean must not invent one
    sd = 0.0 if np.all(x == x[0]) else float(x.std(ddof=1))
    mean = float(x[0]) if sd == 0.0 else float(x.mean())
    ratio = t_quantile(0.5 + confidence / 2.0, x.size - 1) / math.sqrt(x.size)
    gamma = skewness_of(x)
    return MeanInterval(
        mean=mean,
        low=mean - sd * max(ratio, _unskewed(ratio, gamma, x.size)),
        high=mean - sd * min(-ratio, _unskewed(-ratio, gamma, x.size)),
        sd=sd,
        replications=int(x.size),
        confidence=confidence,
        caution=caution_about(x),
    )


def difference_interval(values: ArrayLike, *, confidence: float = 0.95) -> MeanInterval:
    """Interval for the mean of paired differences; without limits where nearly all of them are the same.

    Two plans do the same in most years and differ in few. How far apart they may lie in a year not seen, the years that
    were seen cannot tell, and an interval made of them covers the truth in half of the cases: so that there is none
    (NaN), or, where all are the same, that one value; ``rare_runs`` and ``caution`` say what is known.

    Parameters and errors are those of `mean_interval`.
    """
    found = mean_interval(values, confidence=confidence)
    different = runs_unlike_most(np.asarray(values, dtype=np.float64))
    if different is None:
        return found
    return replace(
        found,
        low=math.nan if different else found.mean,
        high=math.nan if different else found.mean,
        rare_runs=different,
    )


def skewness_of(values: FloatArray) -> float:
    """Sample skewness, put right for the number of values; 0 for fewer than three or for values without spread.

    References
    ----------
    .. [1] D. N. Joanes and C. A. Gill, "Comparing measures of sample skewness and kurtosis", The Statistician 47,
       1998, 183-189 (their G1).
    """
    n = values.size
    deviation = values - values.mean()
    widest = float(np.abs(deviation).max(initial=0.0))
    if n < 3 or widest == 0.0 or np.all(values == values[0]):
        return 0.0
    deviation = deviation / widest  # so that powers of tiny deviations do not vanish
    m2 = float(np.mean(deviation**2))
    return float(np.mean(deviation**3) / m2**1.5 * math.sqrt(n * (n - 1)) / (n - 2))


def _unskewed(ratio: float, gamma: float, count: int) -> float:
    """Undo Hall's transformation: the ratio whose transform is ``ratio``."""
    if abs(gamma) < NO_SKEWNESS:
        return ratio
    root = float(np.cbrt(1.0 + gamma * (ratio - gamma / (6.0 * count))))
    return (root - 1.0) * 3.0 / gamma


def caution_about(values: FloatArray) -> str:
    """Say why a t interval of ``values`` may cover too rarely; empty if there is no reason.

    Where at most four values differ from the commonest one, the interval says next to nothing, and how often a value
    may differ is said instead. Otherwise the rule is n >= 28 + 25 G1^2 with the sample skewness G1, for an interval
    that is not put right for skewness; a third of that is asked here (an assumption; measured in the tests).

    References
    ----------
    .. [1] R. A. Sugden, T. M. F. Smith and R. P. Jones, "Cochran's rule for simple random sampling", J. R. Statist.
       Soc. B 62, 2000, 787-793.
    """
    n = values.size
    rare = rarely_different(values)
    if rare:
        return rare
    skewness = skewness_of(values)
    needed = math.ceil((ENOUGH_REPLICATIONS + ENOUGH_PER_SKEWNESS_SQUARED * skewness**2) / CORRECTED)
    if n >= needed:
        return ""
    reason = f"skewed (skewness {skewness:.1f})" if needed > ENOUGH_REPLICATIONS / CORRECTED + 6 else "few"
    return f"{n} replications are {reason}: run {needed} or more before relying on the level"


def simultaneous_intervals(
    differences: Mapping[Key, ArrayLike], *, confidence: float = 0.95, looks: int = 1
) -> dict[Key, MeanInterval]:
    """Intervals that hold all together, for several plans and, if need be, several looks at growing data.

    Each interval gets ``1 - (1 - confidence) / (plans x looks)`` (Bonferroni), which needs no independence and so is
    valid under common random numbers.

    Parameters
    ----------
    differences : mapping of key to array_like, shape (replications,)
        Paired differences of each plan to the same reference.
    confidence : float
        Level of the joint statement.
    looks : int
        How often the data are looked at, this time included.

    References
    ----------
    .. [1] O. J. Dunn, "Multiple comparisons among means", J. Amer. Statist. Assoc. 56, 1961, 52-64.
    """
    if looks < 1:
        msg = f"looks must be at least 1, got {looks}"
        raise ValueError(msg)
    each = 1.0 - (1.0 - confidence) / (max(1, len(differences)) * looks)
    return {key: difference_interval(values, confidence=each) for key, values in differences.items()}


def variance_ratio(first: ArrayLike, second: ArrayLike) -> float:
    """How many times common random numbers cut the variance of the difference.

    ``(var(first) + var(second)) / var(first - second)``: what independent runs of the two plans would give, over what
    the paired runs gave. Infinite if the difference never varies.

    References
    ----------
    .. [1] A. M. Law, "Simulation Modeling and Analysis", McGraw-Hill, chapter on common random numbers.
    """
    a, b = _paired(first, second)
    if a.size < 2:
        msg = f"a variance needs at least two replications, got {a.size}"
        raise ValueError(msg)
    together = float(np.var(a - b, ddof=1))
    apart = float(np.var(a, ddof=1) + np.var(b, ddof=1))
    return math.inf if together == 0.0 else apart / together


def replications_for_half_width(sd: float, half_width: float, *, confidence: float = 0.95, least: int = 2) -> int:
    """Least number of replications whose t interval is expected to be within ``half_width`` of its mean.

    Parameters
    ----------
    sd : float
        Standard deviation between replications, from a pilot; same unit as ``half_width``.
    half_width : float
        Wanted half-width, above 0.
    confidence : float
        Level of the interval.
    least : int
        Never answer less than this.

    References
    ----------
    .. [1] A. M. Law, "Simulation Modeling and Analysis", McGraw-Hill, section on obtaining a specified precision: the
       least n with t(n - 1) s / sqrt(n) <= half-width.
    """
    if half_width <= 0.0 or sd < 0.0:
        msg = f"half_width must be above 0 and sd at least 0, got {half_width:g} and {sd:g}"
        raise ValueError(msg)

    def reached(n: int) -> bool:
        return t_quantile(0.5 + confidence / 2.0, n - 1) * sd / math.sqrt(n) <= half_width

    high = max(2, least)
    while not reached(high):
        high *= 2
    low = max(2, least)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if reached(middle) else (middle + 1, high)
    return low


def _paired(first: ArrayLike, second: ArrayLike) -> tuple[FloatArray, FloatArray]:
    a, b = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    if a.shape != b.shape or a.ndim != 1:
        msg = f"paired replications must come in equal rows, got shapes {a.shape} and {b.shape}"
        raise ValueError(msg)
    return a, b
