"""Our values for the rows about air, gel, film, oven and trade formulas."""

from __future__ import annotations

import numpy as np

from simstore.physics.air import (
    R_VAPOUR_J_PER_KG_K,
    latent_heat_j_per_kg,
    saturation_pressure_pa,
    vapour_content_g_per_m3,
)
from simstore.physics.drying import (
    bead_rate_per_s,
    residual_kg_per_kg,
)
from simstore.physics.sorption import NARROW_PORE_GEL
from simstore.physics.wall import (
    air_exchange_conductance_kg_per_s_pa,
    film_conductance_kg_per_s_pa,
    film_permeability,
)

GEL = NARROW_PORE_GEL


def relaxation_per_day(leak_per_day: float, volume_m3: float, temp_c: float) -> float:
    """Rate at which an empty box follows its room, from its conductance."""
    conductance = air_exchange_conductance_kg_per_s_pa(leak_per_day, volume_m3, temp_c)
    return float(conductance * R_VAPOUR_J_PER_KG_K * (temp_c + 273.15) / volume_m3 * 86400)


def washout() -> list[float]:
    rate_per_h = relaxation_per_day(2.4, 0.3, 20.0) / 24
    return [100 * (1 - np.exp(-rate_per_h * hours)) for hours in (1, 2, 3)]


def gel_at(points: list[tuple[float, float]]) -> list[float]:
    """Uptake at points of temperature and vapour pressure."""
    return [float(GEL.uptake_kg_per_kg(pa / saturation_pressure_pa(c), c)) for c, pa in points]


def flux_g_per_m2_month(temp_c: float, rh_difference: float) -> float:
    """Through a film of 1 g/(m2 d) at 40 degC and 90 %RH, in a month of 30 days."""
    thickness_m = 1e-4
    at_40 = 1e-3 / 86400 / (0.9 * saturation_pressure_pa(40.0)) * thickness_m
    permeability = film_permeability(
        permeability_kg_per_m_s_pa=at_40, measured_at_c=40.0, activation_kj_per_mol=26.0, temp_c=temp_c
    )
    conductance = film_conductance_kg_per_s_pa(permeability, 1.0, thickness_m)
    return float(conductance * saturation_pressure_pa(temp_c) * rh_difference * 86400 * 30 * 1e3)


def k1_with_our_gel(temp_c: float, outside_rh_pct: float) -> float:
    """Film and gel of ours: kilograms of gel that go from 2 % of water to 40 %RH in just a month."""
    water = np.linspace(0.02, float(GEL.uptake_kg_per_kg(0.40, temp_c)), 2001)
    per_flux = 1.0 / (outside_rh_pct / 100 - GEL.activity(water, temp_c))
    unit_flux_kg = flux_g_per_m2_month(temp_c, 1.0) / 1e3
    return unit_flux_kg / float(np.trapezoid(per_flux, water))


OUTSIDE_RH = (90, 85, 80, 75, 70, 65, 60)


COMPUTES = {
    "air.saturation.ashrae": lambda: saturation_pressure_pa([5, 25, 50, 100, 150]),
    "air.saturation.iapws": lambda: saturation_pressure_pa([0, 10, 15, 20, 30, 40, 104.4, 120]),
    "air.content.din": lambda: float(vapour_content_g_per_m3(20, 80)),
    "air.content.saturated": lambda: vapour_content_g_per_m3([0, 10, 15, 20, 25, 30], 100),
    "air.latent_heat": lambda: latent_heat_j_per_kg([0, 20, 25]) / 1e3,
    "drying.bead_time": lambda: 1 / bead_rate_per_s(20.0, [1e-3, 2.5e-3]) / 3600,
    "drying.residual.1000pa": lambda: (
        100 * residual_kg_per_kg(GEL, [78.4, 87.5, 97.3, 106.8, 121.1, 144.8], 1000.0)
    ),
    "drying.residual.1750pa": lambda: 100 * residual_kg_per_kg(GEL, [78.5, 92.7, 107.1, 121.5], 1750.0),
    "drying.residual.1750pa_hot": lambda: 100 * float(residual_kg_per_kg(GEL, 145.4, 1750.0)),
    "film.jis_z_0301.temperature": lambda: [
        flux_g_per_m2_month(c, 0.9) / flux_g_per_m2_month(40.0, 0.9) * 11.1 for c in (35, 30, 25, 20, 15, 10)
    ],
    "film.jis_z_0303.chain_40c": lambda: [k1_with_our_gel(40.0, rh) for rh in OUTSIDE_RH],
    "film.jis_z_0303.chain_temperatures": lambda: [k1_with_our_gel(c, 90.0) for c in (30, 25, 20, 10)],
    "film.jis_z_0303.chain_15c": lambda: k1_with_our_gel(15.0, 90.0),
    "gel.isosteric": lambda: GEL.isosteric_heat_j_per_kg([0.08, 0.10, 0.15, 0.20, 0.30], 25.0) / 1e3,
    "gel.isosteric_fresh": lambda: float(GEL.isosteric_heat_j_per_kg(0.02, 25.0)) / 1e3,
    "gel.measured_0c_50c": lambda: gel_at([(0, 200), (0, 368), (50, 1880)]),
    "gel.measured_0c_dry": lambda: gel_at([(0, 93.3)]),
    "gel.measured_25c": lambda: gel_at([(25, 408), (25, 941), (25, 1600), (25, 2430)]),
    "gel.unit_40rh": lambda: 25 * float(GEL.uptake_kg_per_kg(0.4, 25.0)),
    "wall.washout": washout,
}  # fmt: skip
