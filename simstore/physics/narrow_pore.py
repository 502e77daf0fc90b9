"""Narrow-pore (type A) silica gel when nobody has measured the gel at hand: a weak, a middle and a strong one.

Gels under one name differ. Five were measured at room temperature (see References); what the weakest and the strongest
of them hold in air of 20 %RH is 11.0 and 13.5 % of dry mass. The middle gel is their geometric mean at each relative
humidity, the weak and strong ones are the lowest and the highest; `tests/fit_gels.py` fits the table and shows how far
each measured point is from it. The points are of adsorption; gel that is dried in an oven and then fills up stays on
that branch.

At 3-45 %RH and 15-50 degC the weak and the strong gel enclose every measured point within 2 %. Nearer to dryness two
gels only are measured. Potential theory (Polanyi) carries the table to other temperatures; the measured gels lie on
either side of it, and at 0 degC the one gel that was measured there held 10-15 % less than the middle one (5 % less
than the weak one): in a cold store calculate with the weak gel too.

References
----------
- Y. Wang and M. D. LeVan, J. Chem. Eng. Data 54 (2009) 2839 (0-75 degC; the strongest at 8-30 %RH).
- K. Thu et al., Appl. Therm. Eng. 50 (2013) 1596 (25 degC, three gels; that of 769 m2/g is the weakest).
- A. Sapienza et al., Renewable Energy 110 (2017) 40 (isobars at 30-145 degC).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np

from simstore.physics.arrays import floats_within
from simstore.physics.tabulated import Tabulated

MEASURED_AT_C: Final = 25.0
TABLE: Final = (
    # %RH, then water of the weak, the middle and the strong gel [kg/kg]; printed by tests/fit_gels.py
    (0.1, 0.0038, 0.0047, 0.0053),
    (0.2, 0.0057, 0.0069, 0.0078),
    (0.5, 0.0097, 0.0118, 0.0133),
    (1, 0.0146, 0.0178, 0.0200),
    (2, 0.0221, 0.0270, 0.0304),
    (3, 0.0283, 0.0345, 0.0389),
    (5, 0.0388, 0.0474, 0.0533),
    (7.5, 0.0524, 0.0619, 0.0669),
    (10, 0.0646, 0.0748, 0.0796),
    (12.5, 0.0762, 0.0871, 0.0926),
    (15, 0.0874, 0.0992, 0.1062),
    (17.5, 0.0987, 0.1114, 0.1203),
    (20, 0.1104, 0.1240, 0.1346),
    (22.5, 0.1227, 0.1369, 0.1490),
    (25, 0.1357, 0.1503, 0.1632),
    (27.5, 0.1493, 0.1639, 0.1770),
    (30, 0.1636, 0.1778, 0.1902),
    (35, 0.1939, 0.2059, 0.2167),
    (40, 0.2254, 0.2355, 0.2447),
    (45, 0.2566, 0.2638, 0.2710),
    (50, 0.2741, 0.2896, 0.2984),
    (55, 0.2897, 0.3131, 0.3305),
    (60, 0.3039, 0.3343, 0.3606),
    (65, 0.3168, 0.3529, 0.3882),
    (70, 0.3287, 0.3693, 0.4129),
    (80, 0.3505, 0.3954, 0.4535),
    (90, 0.3567, 0.4143, 0.4827),
    (100, 0.3579, 0.4271, 0.5015),
)
JUDGED_AT_PCT: Final = 20.0
"""Relative humidity at which a gel is told from others, as the standards do (JIS Z 0701, DIN 55473). [%RH]"""

WEAK_PCT, MIDDLE_PCT, STRONG_PCT = (100.0 * row[column] for column in (1, 2, 3) for row in TABLE if row[0] == 20)
"""Water of the three gels at 20 %RH and 25 degC. [% of dry mass]"""


@lru_cache(maxsize=256)
def narrow_pore_gel(water_at_20_rh_pct: float = MIDDLE_PCT) -> Tabulated:
    """Isotherm of the narrow-pore gel that holds so much water in air of 20 %RH at 25 degC.

    Parameters
    ----------
    water_at_20_rh_pct : float
        11.04 is the weak gel, 12.40 the middle one, 13.46 the strong one; between them the water at each relative
        humidity is interpolated, outside of them it is in proportion. Above 0. [% of dry mass]
    """
    asked = float(floats_within("water_at_20_rh_pct", water_at_20_rh_pct, 1e-3, 100.0, "% of dry mass"))
    rh_pct, *columns = np.array(TABLE).T
    ends = (WEAK_PCT, MIDDLE_PCT, STRONG_PCT)
    within = min(max(asked, WEAK_PCT), STRONG_PCT)
    q = np.array([np.interp(within, ends, at_rh) for at_rh in zip(*columns, strict=True)]) * (asked / within)
    return Tabulated(MEASURED_AT_C, rh_pct / 100.0, q)


NARROW_PORE_GEL: Final = narrow_pore_gel()
"""The middle gel, the default."""
