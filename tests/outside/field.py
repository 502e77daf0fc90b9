"""Our values for the rows about cases in a constant room: whole runs of the simulation on stores of one enclosure."""

from __future__ import annotations

import numpy as np
from features import little_store

# 2 g/(kg %RH), the same everywhere: 0.2 kg/kg from 0 to 100 %RH.
LINEAR = {
    "label": "linear gel",
    "isotherm": {"form": "data_sheet", "points": [[25.0, 0.05], [50.0, 0.1], [100.0, 0.2]]},
}
NO_HINDRANCE = 1e-6
"""Conductance of a packet that does not count. [kg/(s Pa)]"""


def midnights_pct(
    leak_per_day: float, days: int, *, temp_c: float, rh_pct: float, gel_kg_per_m3: float = 20.0,
    water_pct: float = 2.0, linear: bool = False, volume_m3: float = 0.1,
) -> np.ndarray:  # fmt: skip
    """Daily means of the RH in a metal case full of air and gel, in a room that never changes [%RH]."""
    gel = LINEAR | {"isotherm": LINEAR["isotherm"] | {"measured_at_c": temp_c}}
    record = little_store.live(
        little_store.row(gel_water_pct=water_pct),
        days=days,
        climate={"temp_mean_c": temp_c, "rh_mean_pct": rh_pct},
        sorbents={"linear": gel},
        kinds={"box": {
            "volume_m3": volume_m3, "empty_pct": 100.0,
            "layers": [{"film": "rigid_metal", "thickness_um": 1000.0, "area_m2": 1.0, "leak_per_day": leak_per_day}],
        }},
        packets={"p": {
            "sorbent": "linear" if linear else "narrow_pore", "gel_kg": gel_kg_per_m3 * volume_m3,
            "conductance_kg_per_s_pa": NO_HINDRANCE,
        }},
    )  # fmt: skip
    return np.asarray(record.enclosures.day_mean_rh_pct[0], dtype=float)


def half_time_days(leak_per_day: float, temp_c: float, days: int) -> float:
    """Half-time of a case of 20 kg/m3 of linear gel: from 10 %RH to 35 in 60 %RH."""
    reached = midnights_pct(leak_per_day, days, temp_c=temp_c, rh_pct=60.0, water_pct=2.0, linear=True)
    return float(np.interp(35.0, reached, np.arange(len(reached)) + 0.5))


def longest_leak_per_day() -> float:
    """Leak at which 20 kg/m3 of gel as supplied just stays below 20 %RH for a year, at 18 degC and 55 %RH."""
    tried = np.array([0.6, 0.8, 1.0, 1.2])
    after = [midnights_pct(leak, 365, temp_c=18.0, rh_pct=55.0)[-1] for leak in tried]
    return float(np.interp(20.0, after, tried))


COMPUTES = {
    "simulation.half_time": lambda: half_time_days(1.0, 20.0, 200),
    "simulation.half_time.temperatures": lambda: [
        half_time_days(1.0, c, d) for c, d in ((10, 340), (15, 260), (25, 150))
    ],
    "simulation.half_time.tight": lambda: half_time_days(0.1, 20.0, 1800),
    "simulation.gel_20_kg_per_m3": longest_leak_per_day,
}
