"""What the step knows of one enclosure, as a row of numbers: what it is, and how it stands.

Layers and their air spaces are counted from outside; the last air space is the inside.
"""

from __future__ import annotations

from typing import Final

MOST_LAYERS: Final = 6
LEAST_AIR_M3: Final = 1e-7
"""Air that an air space has at least, so that it can be followed. [m3]"""

# What an enclosure is.
PACKING_KG: Final = 0
"""Water that packing and objects take up from 0 to 100 %RH."""
GEL_KG: Final = 1
"""Dry gel times the share of its capacity that is left; 0 without a packet."""
CURVE_UP: Final = 2
CURVE_DOWN: Final = 3
"""Rows of the table of curves; the latter is -1 for gel without a loop."""
SCAN_Q: Final = 4
CLOSED_Q: Final = 5
OPEN_Q: Final = 6
PACKETS: Final = 7
"""How many packets of the sort lie in it."""
PACKET_ROW: Final = 8
"""Row of the room's hours with the conductance of one packet."""
CEILING: Final = 9
"""As a fraction."""
RELEASED_PER_H: Final = 10
"""Share of the water that objects still hold which they give off in an hour."""
FIRST_HOUR: Final = 11
"""Hour of the run from which its hours count."""
WATCHED: Final = 12
"""Column of the table of hours that are kept; -1 for none."""
LAYERS: Final = 13
"""The wall begins here: how many layers, and then for each"""
AIR_M3: Final = LAYERS + 1
LEAK_M3_PER_S: Final = AIR_M3 + MOST_LAYERS
FILM_M: Final = LEAK_M3_PER_S + MOST_LAYERS
"""area over thickness [m], and"""
FILM_ROW: Final = FILM_M + MOST_LAYERS
"""the row of the room's hours with the film's permeability."""
COLUMNS: Final = FILM_ROW + MOST_LAYERS
WALL: Final = slice(LAYERS, COLUMNS)

# How it stands.
HOUR: Final = 0
"""Its own clock: hours of the run that it has lived through."""
GEL_WATER_KG: Final = 1
BRANCH: Final = 2
"""Place in the loop of its gel."""
OBJECT_WATER_KG: Final = 3
"""Water that objects will still give off."""
NOW: Final = 4
"""RH inside as a fraction."""
INFLOW_KG: Final = 5
"""Water that has come through the wall, less what has left."""
PASSED_KG: Final = 6
"""Sum of the absolute flows, for the error of the books."""
FROM_OBJECTS_KG: Final = 7
DAY_SUM: Final = 8
COUNTED_DAYS: Final = 9
HELD_DAYS: Final = 10
HOURS_OVER: Final = 11
EXCESS_H: Final = 12
WORST: Final = 13
LIQUID_HOURS: Final = 14
"""Hours at whose end there is liquid water inside."""
BLOCK_H: Final = 15
"""Length of the block of hours that is tried next."""
AIR_WATER_KG: Final = 16
"""Water of each air space, and of the packing in the last."""
STATES: Final = AIR_WATER_KG + MOST_LAYERS
