"""Conversions and the list of unit suffixes; one spelling for each unit."""

from __future__ import annotations

from typing import Final

MINUTES_PER_HOUR: Final = 60
HOURS_PER_DAY: Final = 24
MINUTES_PER_DAY: Final = 1440
DAYS_PER_WEEK: Final = 7
SECONDS_PER_HOUR: Final = 3600.0
SECONDS_PER_DAY: Final = 86400.0
DAYS_PER_YEAR: Final = 365.0
ZERO_CELSIUS_K: Final = 273.15
JOULES_PER_KWH: Final = 3.6e6

UNIT_SUFFIXES: Final = (
    "_c", "_k", "_pa", "_pct", "_g", "_kg", "_m", "_mm", "_um", "_m2", "_m3", "_min", "_h", "_days", "_weeks",
    "_years", "_per_day", "_per_h", "_per_year", "_per_kg", "_per_kwh", "_per_object_day", "_w", "_kwh", "_price",
    "_j_per_mol", "_j_per_kg", "_kj_per_mol", "_kg_per_kg", "_kg_per_m_s_pa", "_kg_per_s_pa", "_kg_per_m3",
    "_kg_per_kg_pa", "_g_per_pct", "_sigma_ln", "_count",
)  # fmt: skip
"""Every number that a user gives carries one of these at the end of its name, or is a plain count or a named ratio."""
