r"""Adsorption and desorption branches with scanning between them.

A gel that has been wetter holds more water at the same relative humidity. The state ``branch`` says where between the
two curves a gel is: 0 on the adsorption curve, 1 on the desorption curve, and in between

.. math:: \ln h = (1 - w b) \ln h_{ads}(q) + w b \ln h_{des}(q)

where the weight w(q) closes the loop at low q (0 up to ``closed_below_kg_per_kg``, 1 from ``open_above_kg_per_kg``):
measured loops of narrow-pore gel are small below about 20 %RH (Thu et al., Appl. Therm. Eng. 50 (2013) 1596).

Scanning: giving water off moves ``branch`` up by the share ``-dq / scan_kg_per_kg``, taking water up moves it down by
the same share, between 0 and 1. So a small cycle inside the loop runs to and fro on one steeper line and
loses nothing, and a large one goes round the loop. The width of the scan is an assumption of ours, without a
source: published data give the two branches, not the paths between them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.air import R_VAPOUR_J_PER_KG_K, latent_heat_j_per_kg
from simstore.physics.arrays import FloatArray, floats, floats_within, positive
from simstore.physics.isotherm import SLOPE_FLOOR, WATER_FLOOR_KG_PER_KG, LogTerms, checked_activity

if TYPE_CHECKING:
    from simstore.physics.isotherm import Isotherm

HALVINGS: Final = 60


@dataclass(frozen=True, slots=True)
class Branches:
    """Two isotherms and the way between them; with ``branch`` left out it is the adsorption isotherm.

    Attributes
    ----------
    adsorption, desorption : Isotherm
        The bounding curves. Where the desorption curve crosses the other one it counts as equal to it.
    scan_kg_per_kg : float
        Change of water that leads from one curve to the other. [kg/kg]
    closed_below_kg_per_kg, open_above_kg_per_kg : float
        The loop is closed up to the one and fully open from the other. [kg/kg]
    """

    adsorption: Isotherm
    desorption: Isotherm
    scan_kg_per_kg: float = 0.05
    closed_below_kg_per_kg: float = 0.05
    open_above_kg_per_kg: float = 0.12

    def __post_init__(self) -> None:
        positive("scan_kg_per_kg", self.scan_kg_per_kg, "kg/kg")
        if not 0.0 <= self.closed_below_kg_per_kg < self.open_above_kg_per_kg < np.inf:
            msg = (
                "closed_below_kg_per_kg must be at least 0 and less than open_above_kg_per_kg, "
                f"got {self.closed_below_kg_per_kg:g} and {self.open_above_kg_per_kg:g}"
            )
            raise ValueError(msg)

    def log_activity_terms(
        self, q: ArrayLike, temp_c: ArrayLike, branch: ArrayLike = 0.0, change_kg_per_kg: ArrayLike | None = None
    ) -> LogTerms:
        """Return ln h, d(ln h)/d(1/T) at constant q [K], and d(ln h)/dq [kg/kg].

        Parameters
        ----------
        q : array_like, shape (...)
            Water per dry sorbent. [kg/kg]
        temp_c : array_like, broadcast against ``q``
            Temperature. [degC]
        branch : array_like, broadcast against ``q``
            0 on the adsorption curve to 1 on the desorption curve.
        change_kg_per_kg : array_like, broadcast against ``q``, optional
            How far q lies from where ``branch`` was known: the place in the loop moves with it, and the slope is that
            of the scan. Without it ``branch`` is held. [kg/kg]
        """
        water = floats(q)
        place = floats(branch)
        scanned: FloatArray | float = 0.0
        if change_kg_per_kg is not None:
            place = self.moved_branch(branch, change_kg_per_kg)
            scanned = np.where((place > 0.0) & (place < 1.0), -1.0 / self.scan_kg_per_kg, 0.0)
        ads_ln, ads_t, ads_q = self.adsorption.log_activity_terms(water, temp_c)
        des_ln, des_t, des_q = self.desorption.log_activity_terms(water, temp_c)
        width = self.open_above_kg_per_kg - self.closed_below_kg_per_kg
        weight = np.clip((water - self.closed_below_kg_per_kg) / width, 0.0, 1.0)
        inside = des_ln < ads_ln
        share = np.where(inside, weight * place, 0.0)
        opening = np.where((weight > 0.0) & (weight < 1.0) & inside, place / width, 0.0)
        opening = opening + np.where(inside, weight * scanned, 0.0)
        ln_h = ads_ln + share * (des_ln - ads_ln)
        by_q = ads_q + share * (des_q - ads_q) + opening * (des_ln - ads_ln)
        return ln_h, ads_t + share * (des_t - ads_t), np.maximum(by_q, SLOPE_FLOOR)

    def activity(self, q: ArrayLike, temp_c: ArrayLike, branch: ArrayLike = 0.0) -> FloatArray:
        """Return the relative humidity (fraction 0..1) in equilibrium with q [kg/kg] at this place in the loop."""
        water = floats_within("q", q, 0.0, np.inf, "kg/kg")
        ln_h, _, _ = self.log_activity_terms(water, temp_c, floats_within("branch", branch, 0.0, 1.0, "(a fraction)"))
        return np.asarray(np.minimum(np.exp(ln_h), 1.0) * np.minimum(water / WATER_FLOOR_KG_PER_KG, 1.0))

    def uptake_kg_per_kg(self, activity: ArrayLike, temp_c: ArrayLike, branch: ArrayLike = 0.0) -> FloatArray:
        """Return q [kg/kg] in equilibrium with this relative humidity (fraction 0..1) at this place in the loop."""
        h = checked_activity(activity)
        held = floats_within("branch", branch, 0.0, 1.0, "(a fraction)")
        low = self.adsorption.uptake_kg_per_kg(h, temp_c)
        high = np.maximum(low, self.desorption.uptake_kg_per_kg(h, temp_c))
        low, high, h, held = (np.array(each) for each in np.broadcast_arrays(low, high, h, held))
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            above = self.activity(middle, temp_c, held) > h
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        return np.asarray(0.5 * (low + high))

    def isosteric_heat_j_per_kg(self, q: ArrayLike, temp_c: ArrayLike, branch: ArrayLike = 0.0) -> FloatArray:
        """Return the heat that frees a kilogram of water at constant q and branch [J/kg]."""
        latent = latent_heat_j_per_kg(temp_c)
        _, by_inverse_temperature, _ = self.log_activity_terms(q, temp_c, branch)
        return np.asarray(latent - R_VAPOUR_J_PER_KG_K * by_inverse_temperature)

    def moved_branch(self, branch: ArrayLike, change_kg_per_kg: ArrayLike) -> FloatArray:
        """Return ``branch`` after q has changed by ``change_kg_per_kg`` in one direction.

        Parameters
        ----------
        branch : array_like, shape (...)
            0..1 before the change.
        change_kg_per_kg : array_like, broadcast against ``branch``
            Water taken up (above 0) or given off (below 0). [kg/kg]

        Returns
        -------
        ndarray
            0..1 after the change.
        """
        return np.clip(floats(branch) - floats(change_kg_per_kg) / self.scan_kg_per_kg, 0.0, 1.0)
