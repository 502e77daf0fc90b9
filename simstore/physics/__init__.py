"""Physics of dry storage as plain functions: arrays in, arrays out, SI inside, numpy only, and numba for the step.

Vapour pressure drives everything. `air` knows the vapour, `sorption` the gel, `wall` the box or bag, `packet` what is
between gel and air, `drying` the oven, and `quantity` the formulas of the trade.

The step in time is a set of functions of numbers, which numba compiles: `advance` takes each enclosure through its
hours, in one step a day where little happens (`block_step`), else hour by hour (`hour_step`). Both solve the chain of
`gap_chain` with the gel of `gel_terms`, and `counting` counts.
"""

from __future__ import annotations

from simstore.physics.air import saturation_pressure_pa, vapour_content_g_per_m3
from simstore.physics.sorption import (
    NARROW_PORE_GEL,
    Branches,
    DubininAstakhov,
    Isotherm,
    Tabulated,
    Toth,
)

__all__ = [
    "NARROW_PORE_GEL",
    "Branches",
    "DubininAstakhov",
    "Isotherm",
    "Tabulated",
    "Toth",
    "saturation_pressure_pa",
    "vapour_content_g_per_m3",
]
