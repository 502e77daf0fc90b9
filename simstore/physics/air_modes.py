"""The air of one enclosure through a block of hours, in the modes of its chain, with room and gel as its two ends.

Each mode fades by itself, and is pushed at the end of each hour by the steps of the room's humidity, of the RH over the
gel, and of the saturated vapour content, which moves the relative humidity of air that keeps its water.
"""

from __future__ import annotations

import math

from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.enclosure_rows import AIR_M3
from simstore.physics.linear_stores import phi
from simstore.physics.room_hours import ACTIVITY, CONTENT
from simstore.physics.working_rows import (
    AT_INSIDE,
    BY_AIR,
    BY_GEL,
    BY_ROOM,
    CAPACITY,
    DECAY,
    END,
    MODE,
    OVER_GEL,
    RAISED,
    RATE,
    ROOT,
    TO_FIRST,
    TO_INSIDE,
    WAY,
    X,
)
from simstore.units import SECONDS_PER_HOUR


@compiled
def prepare_modes(
    own: FloatArray, layers: int, room: float, over_gel: float, work: FloatArray, vectors: FloatArray
) -> None:
    """Write down each mode: its start, what an hour leaves of it, what pushes it, and what it does to hourly means."""
    last = layers - 1
    capacity, x, root, way, raised = work[CAPACITY], work[X], work[ROOT], work[WAY], work[RAISED]
    for i in range(layers):
        root[i] = math.sqrt(capacity[i])
    for m in range(layers):
        start, by_room, by_gel, by_air = 0.0, 0.0, 0.0, 0.0
        for i in range(layers):
            weight = vectors[i, m] * root[i]
            start += weight * (x[i] - room - way[i] * (over_gel - room) - raised[i])
            by_room -= weight * (1.0 - way[i])
            by_gel -= weight * way[i]
            by_air -= weight * x[i] * own[AIR_M3 + i] / capacity[i]
        z = max(work[RATE, m], 0.0) * SECONDS_PER_HOUR
        phi1, _ = phi(z)
        work[MODE, m] = start
        work[DECAY, m] = 1.0 - z * phi1
        work[BY_ROOM, m] = by_room
        work[BY_GEL, m] = by_gel
        work[BY_AIR, m] = by_air
        work[TO_INSIDE, m] = vectors[last, m] / root[last] * phi1
        work[TO_FIRST, m] = vectors[0, m] / root[0] * phi1


@compiled
def through_hours(layers: int, hours: FloatArray, begin: int, count: int, work: FloatArray, block: FloatArray) -> float:
    """Take the modes through the hours; give the sum over the hours of the RH of the first air space."""
    inside, over_gel = block[AT_INSIDE], block[OVER_GEL]
    room, content = hours[ACTIVITY, begin : begin + count], hours[CONTENT, begin : begin + count]
    way, raised, way_first, total = work[WAY, layers - 1], work[RAISED, layers - 1], work[WAY, 0], 0.0
    for k in range(count):
        inside[k] = room[k] + way * (over_gel[k] - room[k]) + raised
        total += room[k] + way_first * (over_gel[k] - room[k])
    total += count * work[RAISED, 0]
    for m in range(layers):
        mode, decay, to_inside = work[MODE, m], work[DECAY, m], work[TO_INSIDE, m]
        by_room, by_gel, by_air = work[BY_ROOM, m], work[BY_GEL, m], work[BY_AIR, m]
        inside[0] += to_inside * mode
        all_hours = mode
        for k in range(1, count):
            push = by_room * (room[k] - room[k - 1]) + by_air * (content[k] - content[k - 1])
            mode = mode * decay + (push + by_gel * (over_gel[k] - over_gel[k - 1]))
            inside[k] += to_inside * mode
            all_hours += mode
        total += work[TO_FIRST, m] * all_hours
        work[MODE, m] = mode * decay
    return float(total)


@compiled
def at_end(layers: int, room: float, over_gel: float, work: FloatArray, vectors: FloatArray) -> None:
    """Write down where the air stands after the last hour, whose room and gel are given."""
    for i in range(layers):
        work[END, i] = room + work[WAY, i] * (over_gel - room) + work[RAISED, i]
        for m in range(layers):
            work[END, i] += vectors[i, m] / work[ROOT, i] * work[MODE, m]
