r"""Every form of isotherm as a row of numbers, for functions that are compiled.

At constant water each form is linear in 1/T and in the logarithm of the saturation pressure,

.. math:: \ln h = a(q) + A(q)\,\frac{1}{T} + B \ln p_{sat}(T),

with B = 0 and a = 0 for potential theory (Dubinin-Astakhov, data sheets), and B = -1 for Toth, whose heat is its own.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from simstore.physics.air import GAS_CONSTANT_J_PER_MOL_K, R_VAPOUR_J_PER_KG_K
from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.isotherm import Isotherm
from simstore.physics.sorption import DubininAstakhov, Tabulated, Toth
from simstore.units import ZERO_CELSIUS_K

POTENTIAL, TOTH, TABLE, LINEAR = 0, 1, 2, 3
LEAST_Q: Final = 1e-9
LEAST_H: Final = 1e-30
LEAST_EMPTINESS: Final = 1e-9
FULLEST_SHARE: Final = 1.0 - 1e-12


def curve_table(curves: list[Isotherm]) -> tuple[FloatArray, FloatArray]:
    """Write isotherms down for `curve_terms`.

    Parameters
    ----------
    curves : list of Isotherm
        Any of the three forms.

    Returns
    -------
    forms : ndarray, shape (curves, 7)
        Form, four constants, and the first and last knot of a table.
    knots : ndarray, shape (5, knots of all tables)
        Water, activity there, and the three coefficients of the cubic that begins there.
    """
    forms = np.zeros((max(len(curves), 1), 7))
    knots: list[FloatArray] = []
    total = 0
    for row, curve in zip(forms, curves, strict=False):
        if isinstance(curve, DubininAstakhov):
            energy_k = curve.energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K
            row[:4] = POTENTIAL, curve.capacity_kg_per_kg, energy_k, 1.0 / curve.exponent
        elif isinstance(curve, Toth):
            heat_k = curve.heat_j_per_kg / R_VAPOUR_J_PER_KG_K
            row[:5] = TOTH, math.log(curve.k0_kg_per_kg_pa), heat_k, curve.capacity_kg_per_kg, curve.exponent
        elif isinstance(curve, Tabulated):
            own = curve.cubics()
            row[:2] = TABLE, curve.measured_at_c + ZERO_CELSIUS_K
            row[5:] = total, total + own.shape[1] - 1
            total += own.shape[1]
            knots.append(own)
        else:
            msg = f"the step does not know isotherms of the class {type(curve).__name__}"
            raise TypeError(msg)
    return forms, np.concatenate(knots, axis=1) if knots else np.zeros((5, 1))


@compiled
def curve_terms(
    form: FloatArray, knots: FloatArray, q: float, inverse_k: float, ln_psat: float
) -> tuple[float, float, float, float]:
    """Give ln h, its slope with 1/T [K], its factor of ln psat, and its slope with q, all at constant water.

    Beyond saturation ln h goes on above 0.

    Parameters
    ----------
    form, knots : ndarray
        A row of `curve_table`, and its knots.
    q : float
        Water per dry gel. [kg/kg]
    inverse_k, ln_psat : float
        1/T [1/K] and the logarithm of the saturation pressure in pascals.
    """
    q = max(q, LEAST_Q)
    kind = int(form[0])
    if kind == POTENTIAL:
        emptiness = math.log(form[1] / q)
        size = max(abs(emptiness), LEAST_EMPTINESS)
        power = math.exp(form[3] * math.log(size))
        by_inverse_k = -form[2] * math.copysign(power, emptiness)
        return by_inverse_k * inverse_k, by_inverse_k, 0.0, form[2] * inverse_k * form[3] * power / (size * q)
    if kind == TOTH:
        share = min(q / form[3], FULLEST_SHARE)
        room = 1.0 - share ** form[4]
        at_k0 = math.log(q) - form[1] - math.log(room) / form[4]
        return at_k0 - form[2] * inverse_k - ln_psat, -form[2], -1.0, 1.0 / (q * room)
    if kind == LINEAR:
        return math.log(q / form[1]), 0.0, 0.0, 1.0 / q
    low, high = int(form[5]), int(form[6])
    while high - low > 1:
        middle = (low + high) // 2
        if q >= knots[0, middle]:
            low = middle
        else:
            high = middle
    # Beyond the last knot the curve goes on straight.
    s = min(q, knots[0, high]) - knots[0, low]
    slope = knots[2, low] + s * (2.0 * knots[3, low] + s * 3.0 * knots[4, low])
    h = knots[1, low] + s * (knots[2, low] + s * (knots[3, low] + s * knots[4, low]))
    h = max(h + max(q - knots[0, high], 0.0) * slope, LEAST_H)
    by_inverse_k = form[1] * math.log(h)
    return by_inverse_k * inverse_k, by_inverse_k, 0.0, form[1] * inverse_k * slope / h
