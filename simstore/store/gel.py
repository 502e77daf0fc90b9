"""The isotherms of the gel that lies in each enclosure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simstore.physics.curve_table import curve_table
from simstore.physics.enclosure_rows import CURVE_UP, OPEN_Q
from simstore.physics.hysteresis import Branches
from simstore.physics.isotherm import Isotherm as Curve
from simstore.physics.sorption import DubininAstakhov, Tabulated, Toth
from simstore.scenario.values import sorbents

FloatArray = NDArray[np.float64]
REFERENCE_C = 18.0


def curve(isotherm: sorbents.Isotherm) -> Curve:
    """Physics of an isotherm of the scenario."""
    if isinstance(isotherm, sorbents.DubininAstakhov):
        return DubininAstakhov(isotherm.capacity_kg_per_kg, isotherm.energy_j_per_mol, isotherm.exponent)
    if isinstance(isotherm, sorbents.Toth):
        return Toth(isotherm.k0_kg_per_kg_pa, isotherm.heat_j_per_kg, isotherm.capacity_kg_per_kg, isotherm.exponent)
    rh_pct, q = (np.array(column) for column in zip(*isotherm.points, strict=True))
    return Tabulated(isotherm.measured_at_c, rh_pct / 100.0, q)


class StoreCurves:
    """Isotherms of the sorbents in the store, as far as a planner needs them; and by enclosure which one lies in it.

    Attributes
    ----------
    names : tuple of str
        The sorbents, in order.
    sorbent : ndarray of int, shape (enclosures,)
        Number of the sorbent in each enclosure at the start.
    """

    def __init__(self, kinds: dict[str, sorbents.Sorbent], enclosures: int) -> None:
        self.names = tuple(kinds)
        self.sorbent = np.zeros(enclosures, dtype=np.intp)
        self._curves = [curve(kind.isotherm) for kind in kinds.values()]
        self._loops = [None if kind.desorption is None else curve(kind.desorption) for kind in kinds.values()]
        self._known: dict[tuple[int, float], float] = {}

    def table(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Write the curves down for the step.

        Returns
        -------
        forms, knots : ndarray
            From `curve_table`.
        gels : ndarray, shape (sorbents, 5)
            By sorbent what stands in an enclosure's row from CURVE_UP to OPEN_Q.
        """
        own, gels = list(self._curves), np.zeros((len(self.names), OPEN_Q - CURVE_UP + 1))
        for number, (row, down) in enumerate(zip(gels, self._loops, strict=True)):
            loop = Branches(self._curves[number], self._curves[number] if down is None else down)
            row[:] = (
                number, -1.0 if down is None else len(own),
                loop.scan_kg_per_kg, loop.closed_below_kg_per_kg, loop.open_above_kg_per_kg,
            )  # fmt: skip
            if down is not None:
                own.append(down)
        return *curve_table(own), gels

    def log_activity_terms(self, q: FloatArray, temp_c: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Ln of the RH over the gel of all enclosures at water ``q`` [kg/kg], and its slopes with 1/T [K] and q."""
        if len(self._curves) == 1:
            return self._curves[0].log_activity_terms(q, temp_c)
        ln_h, per_inverse_k, per_q = (np.zeros(len(q)) for _ in range(3))
        for number, own in enumerate(self._curves):
            mine = self.sorbent == number
            ln_h[mine], per_inverse_k[mine], per_q[mine] = own.log_activity_terms(q[mine], temp_c)
        return ln_h, per_inverse_k, per_q

    def uptake_kg_per_kg(self, activity: FloatArray, temp_c: float) -> FloatArray:
        """Water in balance with air of this relative humidity, on the adsorption branch; shape (enclosures,)."""
        q = np.zeros(len(self.sorbent))
        for number, own in enumerate(self._curves):
            mine = self.sorbent == number
            q[mine] = own.uptake_kg_per_kg(activity[mine], temp_c)
        return q

    def reference_uptake(self, number: int, activity: float) -> float:
        """Water of one sorbent, unfaded, in balance with this relative humidity at 18 degC [kg/kg]; memoised."""
        key = (number, activity)
        if key not in self._known:
            self._known[key] = float(self._curves[number].uptake_kg_per_kg(activity, REFERENCE_C))
        return self._known[key]
