r"""A packet's own resistance: perforations and film side by side, in series with the bed of gel behind them.

Per square metre of face

.. math:: \frac{1}{g} = \frac{1}{g_{holes} + g_{film}} + \frac{\ell}{\delta_{bed}}

with :math:`g_{holes} = (D/R_v T)\, f / (s + \pi d/4)` for an open share f, film thickness s and holes of diameter d.
The :math:`\pi d/4` is the resistance of the air in front of and behind the hole, :math:`\pi d/8` on either side
(Monteith and Unsworth 2008, section 11.4, mass transfer through pores). It holds for holes several diameters apart;
where they are closer it puts the resistance too high, as it does for a face that is open altogether, which keeps that
of a still layer of air about as deep as the hole is wide.

The way :math:`\ell` through the bed is half the depth that a face serves: half the depth for one open face, a quarter
for two. A heaped bed is twice as deep on half of the area.

The conductance of the bed is that of the air between the beads: porosity 0.4 and Bruggeman's exponent 1.5 make a
quarter of the free diffusivity (both values from memory, unverified; a porosity of 0.4 is usual for beads).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simstore.physics.air import R_VAPOUR_J_PER_KG_K, kelvin, vapour_diffusivity_m2_per_s
from simstore.physics.arrays import FloatArray, floats_above_zero, floats_within

BED_POROSITY: Final = 0.4
BRUGGEMAN_EXPONENT: Final = 1.5
END_CORRECTION: Final = np.pi / 4.0
"""Length that both ends together add to a hole, per diameter."""

HEAPED_DEPTHS: Final = 2.0
WAYS_OF_LAYING: Final = ("flat", "heaped")


def air_permeability_kg_per_m_s_pa(temp_c: ArrayLike) -> FloatArray:
    """Vapour permeability of still air, D/(R_v T). [kg/(m s Pa)]."""
    return np.asarray(vapour_diffusivity_m2_per_s(temp_c) / (R_VAPOUR_J_PER_KG_K * kelvin(temp_c)))


def bed_permeability_kg_per_m_s_pa(temp_c: ArrayLike) -> FloatArray:
    """Vapour permeability of the air between the beads of a bed. [kg/(m s Pa)]."""
    return np.asarray(BED_POROSITY**BRUGGEMAN_EXPONENT * air_permeability_kg_per_m_s_pa(temp_c))


def bed_depth_m(gel_kg: ArrayLike, area_m2: ArrayLike, bulk_kg_per_m3: ArrayLike) -> FloatArray:
    """Depth of gel spread flat over an area. [m]."""
    gel = floats_within("gel_kg", gel_kg, 0.0, np.inf, "kg")
    area = floats_above_zero("area_m2", area_m2, "m2")
    return np.asarray(gel / (area * floats_above_zero("bulk_kg_per_m3", bulk_kg_per_m3, "kg/m3")))


def packet_conductance_kg_per_s_pa(
    *,
    area_m2: ArrayLike,
    faces: ArrayLike,
    perforation_pct: ArrayLike,
    hole_mm: ArrayLike,
    film_um: ArrayLike,
    film_permeability_kg_per_m_s_pa: ArrayLike,
    bed_depth_m: ArrayLike,
    laid: ArrayLike,
    temp_c: ArrayLike,
) -> FloatArray:
    """Conductance between the air around a packet and the middle of its gel; see the top of the module.

    Parameters
    ----------
    area_m2 : array_like, shape (...)
        Area of one face. [m2]
    faces : array_like, broadcast
        Faces that the air reaches, 1 or 2.
    perforation_pct : array_like, broadcast
        Open share of the face, 0..100. [%]
    hole_mm : array_like, broadcast
        Diameter of one hole, above 0. [mm]
    film_um : array_like, broadcast
        Thickness of the film; 0 for a bed without one, whatever the perforation. [um]
    film_permeability_kg_per_m_s_pa : array_like, broadcast
        Permeability of the film between the holes. [kg/(m s Pa)]
    bed_depth_m : array_like, broadcast
        Depth of the gel when it is laid flat, 0 or more. [m]
    laid : array_like of str or bool, broadcast
        "flat" or "heaped"; True means heaped.
    temp_c : array_like, broadcast
        Temperature, -40..200. [degC]

    Returns
    -------
    ndarray
        Conductance; infinite for neither film nor depth. [kg/(s Pa)]

    References
    ----------
    .. [1] J. L. Monteith and M. H. Unsworth, "Principles of Environmental Physics", 3rd ed., Academic Press, 2008,
       section 11.4.
    """
    face = floats_within("faces", faces, 1.0, 2.0, "(one or two)")
    share = floats_within("perforation_pct", perforation_pct, 0.0, 100.0, "%") / 100.0
    hole_m = floats_above_zero("hole_mm", hole_mm, "mm") / 1e3
    film_m = floats_within("film_um", film_um, 0.0, np.inf, "um") / 1e6
    between = floats_within(
        "film_permeability_kg_per_m_s_pa", film_permeability_kg_per_m_s_pa, 0.0, np.inf, "kg/(m s Pa)"
    )
    depth = floats_within("bed_depth_m", bed_depth_m, 0.0, np.inf, "m")
    depths = np.where(_heaped(laid), HEAPED_DEPTHS, 1.0)
    area = floats_above_zero("area_m2", area_m2, "m2") * face / depths

    film_known_m = np.where(film_m > 0.0, film_m, 1.0)
    holes = air_permeability_kg_per_m_s_pa(temp_c) * share / (film_m + END_CORRECTION * hole_m)
    wrapping = holes + between * (1.0 - share) / film_known_m
    bed = bed_permeability_kg_per_m_s_pa(temp_c) * 2.0 * face
    with np.errstate(divide="ignore"):
        resistance = np.where(film_m > 0.0, 1.0 / wrapping, 0.0) + depth * depths / bed
        return np.asarray(area / resistance)


def _heaped(laid: ArrayLike) -> NDArray[np.bool_]:
    ways = np.asarray(laid)
    if ways.dtype == np.bool_:
        return ways
    unknown = sorted({str(way) for way in ways.ravel()} - set(WAYS_OF_LAYING))
    if unknown:
        msg = f"laid must be 'flat' or 'heaped' (or a bool, True for heaped), got {', '.join(unknown)}"
        raise ValueError(msg)
    return np.asarray(ways == "heaped")
