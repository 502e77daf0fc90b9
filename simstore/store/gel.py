"""The isotherms of the gel that lies in each enclosure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simstore.physics.curve_table import curve_table
from simstore.physics.enclosure_rows import CURVE_UP, OPEN_Q
from simstore.physics.hysteresis import Branches
from simstore.physics.isotherm import Isotherm as Curve
from simstore.physics.narrow_pore import narrow_pore_gel
from simstore.physics.sorption import DubininAstakhov, Tabulated, Toth
from simstore.scenario.values import sorbents

FloatArray = NDArray[np.float64]


def curve(isotherm: sorbents.Isotherm) -> Curve:
    """Physics of an isotherm of the scenario."""
    if isinstance(isotherm, sorbents.NarrowPore):
        return narrow_pore_gel(isotherm.water_at_20_rh_pct)
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

    def uptake_kg_per_kg(self, activity: FloatArray, temp_c: float) -> FloatArray:
        """Water in balance with air of this relative humidity, on the adsorption branch; shape (enclosures,)."""
        q = np.zeros(len(self.sorbent))
        for number, own in enumerate(self._curves):
            mine = self.sorbent == number
            q[mine] = own.uptake_kg_per_kg(activity[mine], temp_c)
        return q
