"""Working space of the step: a row of numbers for each store of the chain, or for each mode of it."""

from __future__ import annotations

from typing import Final

import numpy as np

from simstore.physics.arrays import FloatArray
from simstore.physics.enclosure_rows import MOST_LAYERS
from simstore.units import HOURS_PER_DAY

CAPACITY, X, CONDUCTANCE, RATE, COUPLING, FLOW, MEAN, END, THROUGH, ROOT, WAY, RAISED = range(12)
"""Of each store: kilograms per unit of relative humidity, where it stands, the conductance before it, the matrix of the
chain (its diagonal, and the places beside it), flows, mean, end, what goes through the layer before it, the root of its
capacity, and where it comes to rest: its way from the room to the gel, and what is added."""
MODE, DECAY, BY_ROOM, BY_GEL, BY_AIR, TO_INSIDE, TO_FIRST = range(12, 19)
"""Of each mode: its size, what an hour leaves of it, what pushes it, and what it does to the mean of an hour."""
WORK_ROWS: Final = 19

AT_INSIDE, OVER_GEL = range(2)
"""Of each hour of a block: RH inside, and RH over the gel."""
BLOCK_ROWS: Final = 2


def working_space(room_rows: int) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Make the working space of the step: by stores and modes, their vectors, rows of the room, hours of a block."""
    return (
        np.empty((WORK_ROWS, MOST_LAYERS + 2)),
        np.empty((MOST_LAYERS + 1, MOST_LAYERS + 1)),
        np.empty(room_rows),
        np.empty((BLOCK_ROWS, HOURS_PER_DAY)),
    )
