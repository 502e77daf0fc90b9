r"""Drying in an oven, the energy it takes, and what cooling on the open bench gives back.

Drying is first order towards the equilibrium of the isotherm at oven temperature and the room's vapour pressure:

.. math:: q(t) = q_e + (q_0 - q_e) e^{-k t}, \qquad
          k = k_{ref} \frac{0.02\,m}{depth} \exp\left[-\frac{E}{R}\left(\frac{1}{T} - \frac{1}{377.15\,K}\right)\right]

The rate is calibrated, not measured: 7 h at 104 degC with the gel spread 20 mm deep take a spent packet of 22 % water
to about 2 % (common practice in the trade, no source; equilibrium would be well below 1 %, so the figure is a
practical one on the careful side). The activation energy is the desorption energy of water on A-type gel,
35.54 kJ/mol (Li and Li 2006, abstract). That the rate falls as one over the depth, since heat comes through the
surface of the bed, is an assumption of ours. The user's own oven decides: weigh a packet before and after.

Drying hot gel is hazardous work (burns, dust, cobalt-bearing indicators): follow the data sheet of the gel and of the
oven, local rules, and the advice of people licensed for it.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.air import GAS_CONSTANT_J_PER_MOL_K, kelvin, saturation_pressure_pa
from simstore.physics.arrays import FloatArray, floats_above_zero, floats_within
from simstore.physics.isotherm import Isotherm
from simstore.physics.packet import bed_permeability_kg_per_m_s_pa
from simstore.units import SECONDS_PER_HOUR, ZERO_CELSIUS_K

REFERENCE_C: Final = 104.0
REFERENCE_DEPTH_M: Final = 0.02
REFERENCE_RATE_PER_H: Final = 0.39
"""Makes the practical cycle above leave 2.0 %."""

DRYING_ACTIVATION_J_PER_MOL: Final = 35.54e3
DRY_HEAT_J_PER_KG_K: Final = 922.0
"""Specific heat of dry silica gel (value from memory, unverified)."""
WATER_HEAT_J_PER_KG_K: Final = 4186.0

# Linear driving force into a bead, k = 15 Ds/Rp2 (values from memory, unverified).
SURFACE_DIFFUSIVITY_M2_PER_S: Final = 2.54e-4
SURFACE_ACTIVATION_J_PER_MOL: Final = 42e3
BEAD_RADIUS_M: Final = 1.5e-3
BULK_KG_PER_M3: Final = 700.0
COOLING_TIME_CONSTANT_H: Final = 1.0
COOLING_STEPS: Final = 240


def residual_kg_per_kg(isotherm: Isotherm, oven_c: ArrayLike, room_vapour_pa: ArrayLike) -> FloatArray:
    """Water left on gel that stays in the oven for ever.

    Parameters
    ----------
    isotherm : Isotherm
        The gel.
    oven_c : array_like, shape (...)
        Oven temperature, -40..200. [degC]
    room_vapour_pa : array_like, broadcast
        Vapour pressure of the room's air, which the oven draws in, 0 or more. [Pa]

    Returns
    -------
    ndarray
        Residual water at an activity of room vapour pressure over saturation pressure at oven temperature. [kg/kg]
    """
    room = floats_within("room_vapour_pa", room_vapour_pa, 0.0, np.inf, "Pa")
    return isotherm.uptake_kg_per_kg(np.minimum(room / saturation_pressure_pa(oven_c), 1.0), oven_c)


def drying_rate_per_h(oven_c: ArrayLike, bed_depth_m: ArrayLike) -> FloatArray:
    """First-order rate of drying; see the top of the module.

    Parameters
    ----------
    oven_c : array_like, shape (...)
        Oven temperature, -40..200. [degC]
    bed_depth_m : array_like, broadcast
        Depth of the gel on the tray, above 0. [m]

    Returns
    -------
    ndarray
        Rate. [1/h]

    References
    ----------
    .. [1] X. Li and Z. Li, "Effects of pore sizes of silica gels on desorption activation energy of water vapor",
       2006 (abstract read): 35.54 kJ/mol for A-type gel.
    """
    depth = floats_above_zero("bed_depth_m", bed_depth_m, "m")
    colder = 1.0 / kelvin(oven_c) - 1.0 / (REFERENCE_C + ZERO_CELSIUS_K)
    speed = np.exp(-DRYING_ACTIVATION_J_PER_MOL / GAS_CONSTANT_J_PER_MOL_K * colder)
    return np.asarray(REFERENCE_RATE_PER_H * speed * REFERENCE_DEPTH_M / depth)


def water_after_drying_kg_per_kg(
    q0: ArrayLike, *, residual: ArrayLike, rate_per_h: ArrayLike, duration_h: ArrayLike
) -> FloatArray:
    """Water left after a time at oven temperature, exact for a first-order rate.

    Parameters
    ----------
    q0 : array_like, shape (...)
        Water at the start. [kg/kg]
    residual : array_like, broadcast
        Water in equilibrium, from `residual_kg_per_kg`. [kg/kg]
    rate_per_h : array_like, broadcast
        Rate, from `drying_rate_per_h`. [1/h]
    duration_h : array_like, broadcast
        Time at oven temperature, 0 or more. [h]

    Returns
    -------
    ndarray
        Water at the end. A start below the residual water stays as it is: nobody wets gel in an oven. [kg/kg]
    """
    start = floats_within("q0", q0, 0.0, np.inf, "kg/kg")
    end = np.minimum(floats_within("residual", residual, 0.0, np.inf, "kg/kg"), start)
    hours = floats_within("duration_h", duration_h, 0.0, np.inf, "h")
    return np.asarray(
        end + (start - end) * np.exp(-floats_within("rate_per_h", rate_per_h, 0.0, np.inf, "1/h") * hours)
    )


def drying_energy_j(
    *,
    gel_kg: ArrayLike,
    water_driven_off_kg: ArrayLike,
    heat_j_per_kg: ArrayLike,
    oven_c: ArrayLike,
    room_c: ArrayLike,
    casing_w: ArrayLike,
    duration_s: ArrayLike,
    water_left_kg: ArrayLike = 0.0,
) -> FloatArray:
    """Energy of one load: heating gel and water, freeing the water, and the loss through the casing.

    Parameters
    ----------
    gel_kg : array_like, shape (...)
        Dry gel in the load. [kg]
    water_driven_off_kg : array_like, broadcast
        Water that leaves. [kg]
    heat_j_per_kg : array_like, broadcast
        Heat of desorption at oven temperature, from the isotherm's ``isosteric_heat_j_per_kg``. [J/kg]
    oven_c, room_c : array_like, broadcast
        Oven and room temperature. [degC]
    casing_w : array_like, broadcast
        Loss through the casing and with the air that is drawn through. [W]
    duration_s : array_like, broadcast
        Time at temperature. [s]
    water_left_kg : array_like, broadcast
        Water that stays on the gel and is only heated. [kg]

    Returns
    -------
    ndarray
        Energy. All water is heated as liquid from room to oven temperature before it is freed. Cooler ovens than the
        room count as no heating. [J]
    """
    gel = floats_within("gel_kg", gel_kg, 0.0, np.inf, "kg")
    driven = floats_within("water_driven_off_kg", water_driven_off_kg, 0.0, np.inf, "kg")
    left = floats_within("water_left_kg", water_left_kg, 0.0, np.inf, "kg")
    freed = driven * floats_within("heat_j_per_kg", heat_j_per_kg, 0.0, np.inf, "J/kg")
    casing = floats_within("casing_w", casing_w, 0.0, np.inf, "W") * floats_within(
        "duration_s", duration_s, 0.0, np.inf, "s"
    )
    warming = np.maximum(kelvin(oven_c) - kelvin(room_c), 0.0)
    sensible = (gel * DRY_HEAT_J_PER_KG_K + (driven + left) * WATER_HEAT_J_PER_KG_K) * warming
    return np.asarray(freed + sensible + casing)


def bead_rate_per_s(temp_c: ArrayLike, bead_radius_m: ArrayLike = BEAD_RADIUS_M) -> FloatArray:
    """Linear driving force rate of a bead, 15 Ds/Rp2 (values from memory, unverified). [1/s]."""
    radius = floats_above_zero("bead_radius_m", bead_radius_m, "m")
    diffusivity = SURFACE_DIFFUSIVITY_M2_PER_S * np.exp(
        -SURFACE_ACTIVATION_J_PER_MOL / (GAS_CONSTANT_J_PER_MOL_K * kelvin(temp_c))
    )
    return np.asarray(15.0 * diffusivity / radius**2)


def water_after_bench_cooling(
    isotherm: Isotherm,
    q0: ArrayLike,
    *,
    oven_c: float,
    room_c: float,
    room_vapour_pa: ArrayLike,
    bed_depth_m: ArrayLike,
    duration_h: float,
    time_constant_h: float = COOLING_TIME_CONSTANT_H,
    bulk_kg_per_m3: float = BULK_KG_PER_M3,
    bead_radius_m: float = BEAD_RADIUS_M,
) -> FloatArray:
    r"""Water on gel that has cooled in the open room, by linear driving force through the bed and into the bead.

    .. math:: \frac{dq}{dt} = \frac{p_{room} - h(q, T) p_{sat}(T)}{r_{bed} + (dp/dq)/k_{bead}}

    with the bed's resistance over half its depth, open on top, while the gel cools as ``exp(-t/time_constant)``. Each
    step is solved implicitly in q.

    Parameters
    ----------
    isotherm : Isotherm
        The gel.
    q0 : array_like, shape (...)
        Water when it leaves the oven. [kg/kg]
    oven_c, room_c : float
        Temperatures at the start and in the end. [degC]
    room_vapour_pa : array_like, broadcast
        Vapour pressure of the room's air. [Pa]
    bed_depth_m : array_like, broadcast
        Depth of the gel, above 0. [m]
    duration_h : float
        Time on the bench. [h]
    time_constant_h : float
        Cooling time constant of the tray; 1 h is an assumption. [h]
    bulk_kg_per_m3 : float
        Bulk density. [kg/m3]
    bead_radius_m : float
        Radius of a bead or half the size of a granule. [m]

    Returns
    -------
    ndarray
        Water at the end. [kg/kg]
    """
    room = floats_within("room_vapour_pa", room_vapour_pa, 0.0, np.inf, "Pa")
    depth = floats_above_zero("bed_depth_m", bed_depth_m, "m")
    start = floats_within("q0", q0, 0.0, np.inf, "kg/kg")
    floats_within("duration_h", duration_h, 0.0, np.inf, "h")
    floats_above_zero("time_constant_h", time_constant_h, "h")
    q, room, depth = (np.array(each) for each in np.broadcast_arrays(start, room, depth))
    gel_kg_per_m2 = floats_above_zero("bulk_kg_per_m3", bulk_kg_per_m3, "kg/m3") * depth
    step_h = duration_h / COOLING_STEPS
    for step in range(COOLING_STEPS):
        temp_c = room_c + (oven_c - room_c) * np.exp(-(step + 0.5) * step_h / time_constant_h)
        ln_h, _, by_q = isotherm.log_activity_terms(q, temp_c)
        pressure = np.exp(ln_h) * saturation_pressure_pa(temp_c)
        stiffness = pressure * by_q
        bed = gel_kg_per_m2 * 0.5 * depth / bed_permeability_kg_per_m_s_pa(temp_c)
        rate_per_s = 1.0 / (bed + stiffness / bead_rate_per_s(temp_c, bead_radius_m))
        change_s = rate_per_s * step_h * SECONDS_PER_HOUR
        q = np.maximum(q + (room - pressure) * change_s / (1.0 + stiffness * change_s), 0.0)
    return q
