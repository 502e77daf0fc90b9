"""The way through the hours: each enclosure by its own clock, in blocks within a day, counted as it goes.

Nothing here knows of any other enclosure, so what is done to one changes none of the others.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from simstore.physics.arrays import FloatArray
from simstore.physics.block_step import live_block
from simstore.physics.compiling import compiled
from simstore.physics.counting import count_hours
from simstore.physics.enclosure_rows import (
    AIR_WATER_KG,
    BLOCK_H,
    FIRST_HOUR,
    FROM_OBJECTS_KG,
    GEL_KG,
    HOUR,
    LAYERS,
    NOW,
    OBJECT_WATER_KG,
    PASSED_KG,
    RELEASED_PER_H,
)
from simstore.physics.gap_chain import full_kg
from simstore.physics.gel_terms import over_gel
from simstore.physics.hour_step import live_hour
from simstore.physics.room_hours import CONTENT, over_block
from simstore.physics.working_rows import AT_INSIDE
from simstore.units import HOURS_PER_DAY, SECONDS_PER_HOUR

MOST_RELEASED = 0.003
"""Share of the objects' water that may come within one block."""
LEAST_OBJECT_WATER_KG = 1e-12


@compiled
def advance(
    index: NDArray[np.intp],
    target: int,
    own: FloatArray,
    state: FloatArray,
    forms: FloatArray,
    knots: FloatArray,
    hours: FloatArray,
    days: FloatArray,
    day_mean_pct: NDArray[np.float32],
    week_hours_over: NDArray[np.uint8],
    watched_pct: NDArray[np.float32],
    work: FloatArray,
    vectors: FloatArray,
    air: FloatArray,
    block: FloatArray,
) -> None:
    """Bring the enclosures ``index`` up to the start of the hour ``target``.

    Parameters
    ----------
    index : ndarray of int
        Which enclosures.
    target : int
        Hour of the run; clocks that are there already stand still.
    own, state : ndarray, shape (enclosures, columns)
        Rows of all enclosures; see `enclosure_rows`.
    forms, knots : ndarray
        From `curve_table`.
    hours, days : ndarray
        From `RoomHours`.
    day_mean_pct, week_hours_over, watched_pct : ndarray
        What is counted; see `count_hours`.
    work, vectors, air, block : ndarray
        Working space, from `working_space`.
    """
    means = block[AT_INSIDE]
    for i in index:
        mine, stand = own[i], state[i]
        while stand[HOUR] < target:
            begin = int(stand[HOUR])
            midnight = (begin // HOURS_PER_DAY + 1) * HOURS_PER_DAY
            stop = min(begin + int(stand[BLOCK_H]), midnight, target)
            source = 0.0
            if stand[OBJECT_WATER_KG] > LEAST_OBJECT_WATER_KG and begin >= mine[FIRST_HOUR]:
                if mine[RELEASED_PER_H] * (stop - begin) > MOST_RELEASED:
                    stop = begin + 1
                gone = stand[OBJECT_WATER_KG] * -math.expm1((stop - begin) * math.log1p(-mine[RELEASED_PER_H]))
                source = gone / ((stop - begin) * SECONDS_PER_HOUR)
            lived = False
            if stop > begin + 1:
                if stop == begin + HOURS_PER_DAY:
                    over = days[begin // HOURS_PER_DAY]
                else:
                    over_block(hours, begin, stop, air)
                    over = air
                lived = live_block(mine, stand, forms, knots, hours, begin, stop, over, source, work, vectors, block)
                if not lived:
                    stand[BLOCK_H] = max((stop - begin) // 2, 1)
                    continue
            else:
                for row in range(len(hours)):
                    air[row] = hours[row, begin]
                means[0] = live_hour(mine, stand, forms, knots, air, source, work, vectors)
            given = source * SECONDS_PER_HOUR * (stop - begin)
            stand[OBJECT_WATER_KG] = max(stand[OBJECT_WATER_KG] - given, 0.0)
            stand[FROM_OBJECTS_KG] += given
            stand[PASSED_KG] += given
            last = int(mine[LAYERS]) - 1
            share = stand[AIR_WATER_KG + last] / full_kg(mine, hours[CONTENT, stop - 1], last)
            stand[NOW] = min(share, 1.0)
            count_hours(i, mine, stand, begin, stop, means, share > 1.0, day_mean_pct, week_hours_over, watched_pct)
            stand[HOUR] = stop
            stand[BLOCK_H] = min(2 * stand[BLOCK_H], HOURS_PER_DAY)


@compiled
def gel_activity(
    index: NDArray[np.intp], hour: int, own: FloatArray, state: FloatArray, forms: FloatArray, knots: FloatArray,
    hours: FloatArray, activity: FloatArray,
) -> None:  # fmt: skip
    """Write the RH over the gel of the enclosures ``index`` at an hour's temperature, as a fraction; 1 without gel."""
    for place, i in enumerate(index):
        activity[place] = over_gel(own[i], state[i], forms, knots, hours[:, hour]) if own[i, GEL_KG] > 0.0 else 1.0
