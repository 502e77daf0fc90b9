"""What is counted of the hours inside an enclosure, as they are lived through."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.enclosure_rows import (
    CEILING,
    COUNTED_DAYS,
    DAY_SUM,
    EXCESS_H,
    FIRST_HOUR,
    HELD_DAYS,
    HOURS_OVER,
    LIQUID_HOURS,
    WATCHED,
    WORST,
)
from simstore.units import DAYS_PER_WEEK, HOURS_PER_DAY


@compiled
def count_hours(
    enclosure: int,
    own: FloatArray,
    state: FloatArray,
    begin: int,
    stop: int,
    means: FloatArray,
    liquid: bool,
    day_mean_pct: NDArray[np.float32],
    week_hours_over: NDArray[np.uint8],
    watched_pct: NDArray[np.float32],
) -> None:
    """Count a block of hours of one enclosure; before its objects are in the store nothing counts.

    Parameters
    ----------
    enclosure : int
        Its number.
    own, state : ndarray
        Rows of the enclosure; see `enclosure_rows`.
    begin, stop : int
        The block, half-open, within a day.
    means : ndarray, shape (24,)
        Mean RH inside of each hour of the block as a fraction.
    liquid : bool
        Whether there is liquid water inside at the end of the block, which then is one hour.
    day_mean_pct : ndarray of float32, shape (enclosures, days)
        Out: mean of each day. [%RH]
    week_hours_over : ndarray of uint8, shape (enclosures, weeks)
        Out: hours over the ceiling.
    watched_pct : ndarray of float32, shape (hours, watched)
        Out: mean of each hour of the enclosures that are watched. [%RH]
    """
    day, column = begin // HOURS_PER_DAY, int(own[WATCHED])
    if begin < own[FIRST_HOUR]:
        day_mean_pct[enclosure, day] = np.nan
        if column >= 0:
            for k in range(begin, stop):
                watched_pct[k, column] = np.nan
        return
    total, highest = 0.0, 0.0
    for k in range(stop - begin):
        total += means[k]
        highest = max(highest, means[k])
    state[DAY_SUM] += total
    state[WORST] = max(state[WORST], highest)
    if highest > own[CEILING]:
        over = 0
        for k in range(stop - begin):
            if means[k] > own[CEILING]:
                over += 1
                state[EXCESS_H] += means[k] - own[CEILING]
        state[HOURS_OVER] += over
        week_hours_over[enclosure, day // DAYS_PER_WEEK] += np.uint8(over)
    if column >= 0:
        for k in range(stop - begin):
            watched_pct[begin + k, column] = 100.0 * means[k]
    if liquid:
        state[LIQUID_HOURS] += stop - begin
    if stop % HOURS_PER_DAY == 0:
        mean = state[DAY_SUM] / HOURS_PER_DAY
        day_mean_pct[enclosure, day] = 100.0 * mean
        state[COUNTED_DAYS] += 1.0
        state[HELD_DAYS] += 1.0 if mean <= own[CEILING] else 0.0
        state[DAY_SUM] = 0.0
