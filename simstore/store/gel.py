"""The isotherms of the gel that lies in each enclosure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simstore.physics.hysteresis import Branches
from simstore.physics.isotherm import Isotherm as Curve
from simstore.physics.sorption import DubininAstakhov, Tabulated, Toth
from simstore.scenario.values import sorbents

FloatArray = NDArray[np.float64]
REFERENCE_C = 18.0
Index = NDArray[np.intp] | slice


def curve(isotherm: sorbents.Isotherm) -> Curve:
    """Physics of an isotherm of the scenario."""
    if isinstance(isotherm, sorbents.DubininAstakhov):
        return DubininAstakhov(isotherm.capacity_kg_per_kg, isotherm.energy_j_per_mol, isotherm.exponent)
    if isinstance(isotherm, sorbents.Toth):
        return Toth(isotherm.k0_kg_per_kg_pa, isotherm.heat_j_per_kg, isotherm.capacity_kg_per_kg, isotherm.exponent)
    rh_pct, q = (np.array(column) for column in zip(*isotherm.points, strict=True))
    return Tabulated(isotherm.measured_at_c, rh_pct / 100.0, q)


class StoreCurves:
    """Isotherms by enclosure: which sorbent, how much of its capacity is left, and where in its loop it is.

    Attributes
    ----------
    sorbent : ndarray of int, shape (enclosures,)
        Number of the sorbent in each enclosure, in the order of ``names``.
    left : ndarray, shape (enclosures,)
        Share of the capacity that is left after the packet's cycles.
    branch : ndarray, shape (enclosures,)
        0 on the adsorption curve to 1 on the desorption curve, at the water ``known_q``.
    known_q : ndarray, shape (enclosures,)
        Water per unfaded gel at which ``branch`` was last known; between then and now it moves with the water. [kg/kg]
    """

    def __init__(self, kinds: dict[str, sorbents.Sorbent], enclosures: int) -> None:
        self.names = tuple(kinds)
        self.sorbent = np.zeros(enclosures, dtype=np.intp)
        self.left = np.ones(enclosures)
        self.branch = np.zeros(enclosures)
        self.known_q = np.zeros(enclosures)
        self._curves = [curve(kind.isotherm) for kind in kinds.values()]
        self._loops = [
            None if kind.desorption is None else Branches(own, curve(kind.desorption))
            for kind, own in zip(kinds.values(), self._curves, strict=True)
        ]
        self._known: dict[tuple[int, float], float] = {}
        self.has_loops = any(loop is not None for loop in self._loops)

    def log_activity_terms(
        self, index: Index, q: FloatArray, temp_c: float
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Ln of the RH over the gel of ``index`` at water ``q`` [kg/kg], and its slopes with 1/T [K] and q [kg/kg]."""
        left = self.left[index]
        full = q / left
        if len(self._curves) == 1 and not self.has_loops:
            ln_h, per_inverse_k, per_q = self._curves[0].log_activity_terms(full, temp_c)
            return ln_h, per_inverse_k, per_q / left
        ln_h, per_inverse_k, per_q = (np.zeros(len(full)) for _ in range(3))
        which = self.sorbent[index]
        branch, moved = self.branch[index], full - self.known_q[index]
        for number, (own, loop) in enumerate(zip(self._curves, self._loops, strict=True)):
            mine = which == number
            if not mine.any():
                continue
            if loop is None:
                terms = own.log_activity_terms(full[mine], temp_c)
            else:
                terms = loop.log_activity_terms(full[mine], temp_c, branch[mine], moved[mine])
            ln_h[mine], per_inverse_k[mine], per_q[mine] = terms
        return ln_h, per_inverse_k, per_q / left

    def uptake_kg_per_kg(self, activity: FloatArray, temp_c: float) -> FloatArray:
        """Water in balance with air of this relative humidity, on the adsorption branch; shape (enclosures,)."""
        q = np.zeros(len(self.left))
        for number, own in enumerate(self._curves):
            mine = self.sorbent == number
            q[mine] = own.uptake_kg_per_kg(activity[mine], temp_c) * self.left[mine]
        return q

    def reference_uptake(self, number: int, activity: float) -> float:
        """Water of one sorbent, unfaded, in balance with this relative humidity at 18 degC [kg/kg]; memoised."""
        key = (number, activity)
        if key not in self._known:
            self._known[key] = float(self._curves[number].uptake_kg_per_kg(activity, REFERENCE_C))
        return self._known[key]

    def settle(self, q: FloatArray) -> None:
        """Write down where in its loop every gel is, now that its water is ``q`` [kg/kg], shape (enclosures,)."""
        full = q / self.left
        for number, loop in enumerate(self._loops):
            if loop is not None:
                mine = self.sorbent == number
                self.branch[mine] = loop.moved_branch(self.branch[mine], full[mine] - self.known_q[mine])
        self.known_q = full

    def put(self, index: int, *, q: float, left: float) -> None:
        """Lay other gel with water ``q`` [kg/kg] and this share of its capacity into one enclosure."""
        self.left[index] = left
        self.branch[index] = 0.0
        self.known_q[index] = q / left
