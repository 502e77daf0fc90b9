"""The relative humidity over the gel of one enclosure, with the place in its loop.

The place b moves with the water: giving water off moves it up by ``-dq / scan``, taking water up moves it down, and it
stops at 0 and 1. So the slope of ln h with q depends on the way that the water goes.
"""

from __future__ import annotations

import math

from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.curve_table import curve_terms
from simstore.physics.enclosure_rows import BRANCH, CLOSED_Q, CURVE_DOWN, CURVE_UP, GEL_KG, GEL_WATER_KG, OPEN_Q, SCAN_Q
from simstore.physics.room_hours import INVERSE_K, LN_PSAT


@compiled
def gel_terms(
    own: FloatArray,
    forms: FloatArray,
    knots: FloatArray,
    q: float,
    branch: float,
    rising: bool,
    inverse_k: float,
    ln_psat: float,
) -> tuple[float, float, float, float]:
    """Give ln h, its slope with 1/T [K], its factor of ln psat, and its slope with q in the direction it goes.

    Parameters
    ----------
    own : ndarray
        Row of the enclosure.
    forms, knots : ndarray
        From `curve_table`.
    q, branch : float
        Water per dry, unfaded gel [kg/kg], and the place in the loop.
    rising : bool
        Whether the gel takes up water.
    inverse_k, ln_psat : float
        1/T [1/K] and the logarithm of the saturation pressure in pascals.
    """
    ln_h, by_k, by_p, by_q = curve_terms(forms[int(own[CURVE_UP])], knots, q, inverse_k, ln_psat)
    if own[CURVE_DOWN] < 0.0:
        return ln_h, by_k, by_p, by_q
    ln_down, down_k, down_p, down_q = curve_terms(forms[int(own[CURVE_DOWN])], knots, q, inverse_k, ln_psat)
    apart = ln_down - ln_h
    if apart >= 0.0:
        return ln_h, by_k, by_p, by_q
    width = own[OPEN_Q] - own[CLOSED_Q]
    weight = min(max((q - own[CLOSED_Q]) / width, 0.0), 1.0)
    opening = 1.0 / width if 0.0 < weight < 1.0 else 0.0
    held = (branch <= 0.0 and rising) or (branch >= 1.0 and not rising)
    scan = 0.0 if held else -1.0 / own[SCAN_Q]
    share = weight * branch
    by_q = by_q + share * (down_q - by_q) + (opening * branch + weight * scan) * apart
    return ln_h + share * apart, by_k + share * (down_k - by_k), by_p + share * (down_p - by_p), by_q


@compiled
def moved_branch(own: FloatArray, branch: float, change_q: float) -> float:
    """Give the place in the loop after the water per gel has changed by ``change_q`` [kg/kg] in one direction."""
    if own[CURVE_DOWN] < 0.0:
        return 0.0
    return float(min(max(branch - change_q / own[SCAN_Q], 0.0), 1.0))


@compiled
def over_gel(own: FloatArray, state: FloatArray, forms: FloatArray, knots: FloatArray, air: FloatArray) -> float:
    """Give the relative humidity over the gel of an enclosure as a fraction, in the air of one hour."""
    q = state[GEL_WATER_KG] / own[GEL_KG]
    ln_h, _, _, _ = gel_terms(own, forms, knots, q, state[BRANCH], True, air[INVERSE_K], air[LN_PSAT])
    return math.exp(min(ln_h, 0.0))
