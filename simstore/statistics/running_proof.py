r"""A proof of a share that may be looked at after every run: an e-process against "the share is no more than this".

Of runs that each hold or not, with a true share p that hold, the hypothesis is :math:`p \le p_0`. For any one
alternative :math:`p_1 > p_0` the likelihood ratio

.. math:: E_n = \left(\frac{p_1}{p_0}\right)^{s} \left(\frac{1 - p_1}{1 - p_0}\right)^{n - s}

of s runs that held among n is a nonnegative supermartingale under the hypothesis, and so is its mean over a prior of
alternatives above :math:`p_0`. By Ville's inequality it ever reaches :math:`1/\alpha` with probability at most
:math:`\alpha`. So one may look after each run, stop when it is enough, or go on, without any loss of validity; nothing
has to be fixed beforehand. The prior here is uniform over :math:`(p_0, 1)`; the mean is an incomplete beta function.

References
----------
J. Ville, "Etude critique de la notion de collectif", Gauthier-Villars, 1939 (the inequality).
H. Robbins, "Statistical methods related to the law of the iterated logarithm", Ann. Math. Statist. 41 (1970) 1397
(mixtures of likelihood ratios).
A. Ramdas, P. Grunwald, V. Vovk and G. Shafer, "Game-theoretic statistics and safe anytime-valid inference", Statistical
Science 38 (2023) 576.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

from simstore.statistics.plan_belief import Run

HALVINGS = 50


@lru_cache(maxsize=65536)
def log_evidence(held: int, runs: int, no_more_than: float) -> float:
    """Logarithm of the evidence against "the share that holds is no more than ``no_more_than``".

    Parameters
    ----------
    held, runs : int
        Runs that held, and runs in all.
    no_more_than : float
        The hypothesis, between 0 and 1.

    Raises
    ------
    ValueError
        If ``held`` is not in 0..runs, or the hypothesis not between 0 and 1.
    """
    from scipy.special import betaln
    from scipy.stats import beta

    if not 0 <= held <= runs:
        msg = f"held must lie in 0..runs, got {held} of {runs}"
        raise ValueError(msg)
    if not 0.0 < no_more_than < 1.0:
        msg = f"no_more_than must lie between 0 and 1, got {no_more_than:g}"
        raise ValueError(msg)
    misses = runs - held
    above = float(beta.logsf(no_more_than, held + 1, misses + 1)) + float(betaln(held + 1, misses + 1))
    mean = above - math.log1p(-no_more_than)
    return mean - held * math.log(no_more_than) - misses * math.log1p(-no_more_than)


def is_proven(held: int, runs: int, more_than: float, error: float) -> bool:
    """Whether it is proven that more than this share holds, at this error, however often one looks."""
    return log_evidence(held, runs, more_than) >= -math.log(error)


def share_proven(held: int, runs: int, error: float) -> float:
    """Largest share of which it is proven that more than it holds; valid at every look at once; 0 if none is.

    The evidence falls as the hypothesis rises towards the share that was seen, so a bisection finds it.
    """
    if held == 0 or runs == 0:
        return 0.0
    low, high = 0.0, held / runs if held < runs else 1.0 - 1e-12
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if is_proven(held, runs, middle, error):
            low = middle
        else:
            high = middle
    return low


def runs_to_prove(share: float, more_than: float, error: float) -> float:
    """About how many runs a proof takes if this share of them holds: the evidence needed over its mean gain a run.

    Infinite where the share is no more than the target.
    """
    if share <= more_than:
        return math.inf
    sure = min(share, 1.0 - 1e-9)
    gain = sure * math.log(sure / more_than) + (1.0 - sure) * math.log((1.0 - sure) / (1.0 - more_than))
    return -math.log(error) / gain


@dataclass(slots=True)
class Proof:
    """The running proof of one plan on fresh replications.

    Attributes
    ----------
    plan : int
        Index of the plan.
    first : int
        Number of its first replication.
    error : float
        Error at which it must be proven.
    outcome : str
        ``open``, ``proven``, ``hopeless`` (its runs say that it would take very long or for ever) or ``unfinished``.
    """

    plan: int
    first: int
    error: float
    runs: list[Run] = field(default_factory=list)
    outcome: Literal["open", "proven", "hopeless", "unfinished"] = "open"

    @property
    def held(self) -> int:
        """Runs that held."""
        return sum(run.score >= 0.0 for run in self.runs)

    @property
    def share_proven(self) -> float:
        """More than this share is proven to hold, at the error of the proof."""
        return share_proven(self.held, len(self.runs), self.error)
