r"""How each metal class fared year by year, and by how much the worst of it met or missed its standard.

A plan is judged in every year of its horizon: a mean over the years would let a good first year pay for a bad last one.

The *score* of a run is the least, over classes and years, of

.. math:: s = \ln\frac{a + \epsilon}{m + \epsilon}

with the share m of object-days that were not held and the share a that the standard allows; both in percent. It is at
or above 0 if every class met its standard in every year, and it is continuous, so that it says by how much: 0.7 means
that half as many object-days were missed as are allowed. Shares of misses differ between plans by factors rather than
by points, hence the logarithm; :math:`\epsilon` keeps a year without any miss finite.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.values.housing import Metal
from simstore.sim.record import EnclosureYear
from simstore.units import DAYS_PER_YEAR

FloatArray = NDArray[np.float64]
SMALL_SHARE = 0.02
"""Share of the allowed misses that counts as next to nothing."""
SMALL_PCT = 0.005
"""Share of object-days that counts as next to nothing where nothing is allowed. [%]"""


def years_of(days: int) -> int:
    """Count the years of a run of so many days; what begins counts as one."""
    return max(1, math.ceil(days / DAYS_PER_YEAR))


def held_by_year(run: EnclosureYear, metals: Mapping[str, Metal]) -> dict[str, FloatArray]:
    """Share of object-days that were held, by metal class and year.

    Parameters
    ----------
    run : EnclosureYear
        How each enclosure fared; its daily means are judged.
    metals : mapping of str to Metal
        With the ceilings.

    Returns
    -------
    dict of str to ndarray, shape (years,)
        By metal class that has objects [%]; NaN for a year without any of its objects.
    """
    of_year = np.arange(run.days) // int(DAYS_PER_YEAR)
    starts = np.flatnonzero(np.r_[True, np.diff(of_year) > 0])
    found = {}
    names = np.array(run.metal)
    for metal in sorted(set(run.metal)):
        mine = names == metal
        days = run.day_mean_rh_pct[mine]
        objects = run.objects[mine].astype(np.float64)
        counted = np.add.reduceat(objects @ np.isfinite(days), starts)
        dry_enough = days <= metals[metal].ceiling_rh_pct
        limits = run.lower_limit_rh_pct[mine]
        if limits.any():
            dry_enough &= days >= limits[:, None]
        held = np.add.reduceat(objects @ dry_enough, starts)
        found[metal] = 100.0 * held / np.where(counted > 0.0, counted, np.nan)
    return found


def score(held: Mapping[str, FloatArray], metals: Mapping[str, Metal]) -> float:
    """Distance of the worst class in its worst year from its standard, in factors; see the top of the module.

    Parameters
    ----------
    held : mapping of str to ndarray, shape (years,)
        From `held_by_year`.
    metals : mapping of str to Metal
        With the standards.

    Returns
    -------
    float
        At or above 0 if every class met its standard in every year; NaN if there was nothing to hold.
    """
    least = math.inf
    for metal, shares in held.items():
        allowed = 100.0 - metals[metal].standard_pct
        small = max(SMALL_SHARE * allowed, SMALL_PCT)
        missed = 100.0 - shares[np.isfinite(shares)]
        if missed.size:
            least = min(least, math.log((allowed + small) / (float(missed.max()) + small)))
    return least if math.isfinite(least) else math.nan
