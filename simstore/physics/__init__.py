"""Physics of dry storage as plain functions: arrays in, arrays out, SI inside, numpy only.

Vapour pressure drives everything. `air` knows the vapour, `sorption` the gel, `wall` the box or bag, `packet` what is
between gel and air, `uptake` the steps in time, `drying` the oven, and `quantity` the formulas of the trade.
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
