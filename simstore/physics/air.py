"""Water vapour in air: saturation pressure, vapour content, diffusivity and latent heat.

The saturation equation is that of the international formulation for ordinary water (Wagner and Pruss 2002), which
holds from the triple point upwards, so one equation serves both the store and the oven. A Magnus form, good near room
temperature, is some 3 % off at 100 degC and is not used.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from simstore.physics.arrays import FloatArray, floats_within
from simstore.units import ZERO_CELSIUS_K

R_VAPOUR_J_PER_KG_K: Final = 461.52
"""Gas constant of water vapour, 8.31446 J/(mol K) over 0.0180153 kg/mol. [J/(kg K)]"""

GAS_CONSTANT_J_PER_MOL_K: Final = 8.314462618
"""Molar gas constant (CODATA 2018, exact). [J/(mol K)]"""

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 200.0

# Wagner and Pruss 2002, equation 2.5a; critical point of the same paper.
CRITICAL_K: Final = 647.096
CRITICAL_PA: Final = 22.064e6
WAGNER: Final = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)

# Monteith and Unsworth 2013: water vapour in still air, 25 degC, ordinary pressure.
DIFFUSIVITY_25_C_M2_PER_S: Final = 2.471e-5
DIFFUSIVITY_EXPONENT: Final = 1.75


def kelvin(temp_c: ArrayLike) -> FloatArray:
    """Return the absolute temperature [K] of ``temp_c`` [degC, -40..200], or refuse it."""
    return floats_within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC") + ZERO_CELSIUS_K


def saturation_logarithm(temp_c: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return ln(psat/critical pressure) and its derivative with respect to 1/T [K]; see `saturation_pressure_pa`."""
    t_k = kelvin(temp_c)
    tau = 1.0 - t_k / CRITICAL_K
    root = np.sqrt(tau)
    squared = tau * tau
    tail = squared * tau * root
    (a1, e1), (a2, e2), (a3, e3), (a4, e4), (a5, e5), (a6, e6) = WAGNER
    # The terms gathered so that one square root is the only fractional power; the second line is the first one derived.
    series = tau * (a1 + a2 * root + squared * (a3 + a4 * root + tau * (a5 + a6 * tail)))
    slope = a1 * e1 + a2 * e2 * root + squared * (a3 * e3 + a4 * e4 * root + tau * (a5 * e5 + a6 * e6 * tail))
    return np.asarray(CRITICAL_K / t_k * series), np.asarray(CRITICAL_K * series + t_k * slope)


def saturation_pressure_pa(temp_c: ArrayLike) -> FloatArray:
    r"""Saturation vapour pressure over liquid water.

    .. math:: \ln\frac{p}{p_c} = \frac{T_c}{T} \sum_i a_i \tau^{e_i}, \qquad \tau = 1 - T/T_c

    Below 0 degC the equation is carried on over supercooled liquid water, not ice: that is the convention of
    hygrometers, which give relative humidity against liquid water at all temperatures.

    Parameters
    ----------
    temp_c : array_like, shape (...)
        Temperature, -40..200. [degC]

    Returns
    -------
    ndarray, shape (...)
        Saturation vapour pressure. [Pa]

    Raises
    ------
    ValueError
        If any temperature is outside -40..200 degC or not a number.

    References
    ----------
    .. [1] W. Wagner and A. Pruss, "The IAPWS formulation 1995 for the thermodynamic properties of ordinary water
       substance for general and scientific use", J. Phys. Chem. Ref. Data 31 (2002) 387, equation 2.5a.
    """
    return np.asarray(CRITICAL_PA * np.exp(saturation_logarithm(temp_c)[0]))


def latent_heat_j_per_kg(temp_c: ArrayLike) -> FloatArray:
    r"""Heat of vaporisation by Clausius-Clapeyron from the saturation equation, vapour taken as an ideal gas.

    .. math:: L = -R_v \frac{d \ln p}{d(1/T)}

    It is used wherever a heat goes with ``p = h psat``, so that heat and pressure belong to one curve. The ideal gas
    makes it 0.1 % high at 25 degC and 1.6 % high at 104 degC against steam tables.

    Parameters
    ----------
    temp_c : array_like, shape (...)
        Temperature, -40..200. [degC]

    Returns
    -------
    ndarray, shape (...)
        Heat of vaporisation. [J/kg]
    """
    return -R_VAPOUR_J_PER_KG_K * saturation_logarithm(temp_c)[1]


def vapour_content_g_per_m3(temp_c: ArrayLike, rh_pct: ArrayLike) -> FloatArray:
    """Mass of water vapour in a cubic metre of air, as an ideal gas.

    Parameters
    ----------
    temp_c : array_like, shape (...)
        Air temperature, -40..200. [degC]
    rh_pct : array_like, broadcast against ``temp_c``
        Relative humidity over liquid water, 0..100. [%]

    Returns
    -------
    ndarray
        Vapour content (absolute humidity). [g/m3]
    """
    rh = floats_within("rh_pct", rh_pct, 0.0, 100.0, "%RH")
    return np.asarray(10.0 * rh * saturation_pressure_pa(temp_c) / (R_VAPOUR_J_PER_KG_K * kelvin(temp_c)))


def vapour_diffusivity_m2_per_s(temp_c: ArrayLike) -> FloatArray:
    """Diffusivity of water vapour in still air at ordinary pressure.

    Parameters
    ----------
    temp_c : array_like, shape (...)
        Air temperature, -40..200. [degC]

    Returns
    -------
    ndarray, shape (...)
        Diffusivity, 2.471e-5 at 25 degC and as T to the power 1.75. [m2/s]

    References
    ----------
    .. [1] J. L. Monteith and M. H. Unsworth, "Principles of Environmental Physics", 4th ed., Academic Press, 2013.
    """
    ratio = kelvin(temp_c) / (25.0 + ZERO_CELSIUS_K)
    return np.asarray(DIFFUSIVITY_25_C_M2_PER_S * ratio**DIFFUSIVITY_EXPONENT)
