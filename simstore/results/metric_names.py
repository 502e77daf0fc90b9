"""Every metric with its unit and meaning; this is also their manual.

A metal class, packet or task follows some names after a dot: ``held_pct.iron``. What has "a" (year) in its unit is per
simulated year, so that runs of different length compare; the rest is over the whole run.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class Metric(NamedTuple):
    """One metric: name, unit, what follows after a dot ("" for nothing), whether more is better, meaning."""

    name: str
    unit: str
    by: str
    better: int
    meaning: str


METRICS: Final = (
    Metric("years_met", "1", "", 1, "1 if every metal class met its standard in every year of this run, else 0"),
    Metric(
        "held_pct",
        "%",
        "metal",
        1,
        "share of object-days whose mean RH was within the limits",
    ),
    Metric("worst_year_held_pct", "%", "metal", 1, "the same in the year of the run in which it was least"),
    Metric(
        "too_dry_pct",
        "%",
        "metal",
        -1,
        "share of object-days whose mean RH was below the lower limit, which are not held; only where there is one",
    ),
    Metric("margin_pct", "%", "", 1, "least distance of a metal's held share in its worst year from its standard"),
    Metric("margin_ln", "1", "", 1, "the same as the logarithm of object-days allowed to be missed over those missed"),
    Metric("excess_pct_days", "%RH d/a", "metal", -1, "RH over the ceiling, summed over time and enclosures, a year"),
    Metric("ever_over", "1", "metal", -1, "enclosures that were over their ceiling in any hour of the run"),
    Metric("liquid_water_h", "h/a", "", -1, "hours a year with liquid water inside, summed over enclosures"),
    Metric("swing_damping", "1", "", 1, "share of the room's day-to-day RH swing that the middle enclosure keeps out"),
    Metric("exchanges", "1/a", "metal", -1, "packet changes a year, all and by metal class"),
    Metric("exchange_wait_days", "d", "", -1, "mean wait of an exchange from due to done"),
    Metric("rounds", "1/a", "", -1, "inspection tours begun a year"),
    Metric("loads", "1/a", "", -1, "oven loads begun a year"),
    Metric("oven_use_pct", "%", "", 0, "share of the run in which an oven is occupied, from loading to unloading"),
    Metric(
        "oven_wait_days",
        "d",
        "",
        -1,
        "mean time that a packet lies spent or dried: mean stock over packets a day",
    ),
    Metric("gel_bought_kg", "kg/a", "", -1, "dry gel bought a year"),
    Metric("gel_circulating_kg", "kg", "", -1, "dry gel in the store: enclosures, ovens and stock, mean over days"),
    Metric("least_ready", "1", "packet", 1, "fewest ready packets at the end of any day"),
    Metric("staff_h", "h/a", "task", -1, "hours worked a year, all and by task; idle time is not counted"),
    Metric("peak_week_h", "h", "", -1, "hours worked in the busiest week, weeks counted from the first day"),
    Metric("idle_h", "h/a", "", 0, "hours of sessions in which there was nothing to do, a year"),
    Metric("overdue", "1", "", -1, "pieces of work that still wait a week or more after they were due, at the end"),
    Metric("energy_kwh", "kWh/a", "", -1, "electricity of the ovens a year"),
    Metric("cost_per_year", "currency/a", "", -1, "running costs: labour, gel, packets, energy, disposal"),
    Metric("annual_equivalent_cost", "currency/a", "", -1, "running costs and the annual equivalent of capital"),
)
"""Metrics in the order in which they are listed everywhere."""
