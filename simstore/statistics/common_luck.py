r"""Separates what belongs to a plan from what belongs to the luck of a replication, where all plans share their luck.

Replication r of plan i gave :math:`y_{ir}`; plans have been tried on different numbers of replications, each on the
first ones. The additive model

.. math:: y_{ir} = \theta_i + g_r + e_{ir}

is fitted by least squares, with the luck shrunk a little, so that a replication that few plans have seen does not take
all for luck. A plan that was tried twice is then compared with the others *on the same two replications*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
ROUNDS = 30
PRIOR_RUNS = 3.0
"""Weight of the spread that is expected beforehand, in degrees of freedom."""


@dataclass(frozen=True, slots=True)
class CommonLuck:
    """What the fit found.

    Attributes
    ----------
    level : ndarray, shape (plans,)
        Level of each plan, at the mean luck of all replications that any plan has seen.
    luck : ndarray, shape (replications,)
        Luck of each replication, with mean 0.
    own_sd : float
        Standard deviation of what is neither plan nor luck.
    level_sd : ndarray, shape (plans,)
        Error of each level, against the others on the same replications.
    """

    level: FloatArray
    luck: FloatArray
    own_sd: float
    level_sd: FloatArray


def separated(values: Sequence[FloatArray], expected_sd: float) -> CommonLuck:
    """Fit the additive model.

    Parameters
    ----------
    values : sequence of ndarray
        For each plan what its replications 0, 1, 2 ... gave; none is empty.
    expected_sd : float
        Standard deviation of what is neither plan nor luck, as expected beforehand.
    """
    plans, most = len(values), max(len(each) for each in values)
    table = np.full((plans, most), np.nan)
    for row, each in zip(table, values, strict=True):
        row[: len(each)] = each
    seen = np.isfinite(table)
    table = np.where(seen, table, 0.0)
    runs, plans_at = seen.sum(axis=1), seen.sum(axis=0)
    level = table.sum(axis=1) / runs
    luck = np.zeros(most)
    for _ in range(ROUNDS):
        luck = ((table - level[:, None]) * seen).sum(axis=0) / plans_at
        level = ((table - luck[None, :]) * seen).sum(axis=1) / runs
    shift = float(luck.mean())
    luck, level = luck - shift, level + shift
    left = (table - level[:, None] - luck[None, :]) * seen
    freedom = max(int(seen.sum()) - plans - most + 1, 0)
    own = float(np.sqrt((np.sum(left**2) + PRIOR_RUNS * expected_sd**2) / (freedom + PRIOR_RUNS)))
    return CommonLuck(level, luck, own, own / np.sqrt(runs))
