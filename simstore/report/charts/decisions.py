"""The charts for decisions; each module says which tidy table it takes."""

from simstore.report.charts.cadence import cadence_and_stock
from simstore.report.charts.differences import paired_differences, what_more_buys
from simstore.report.charts.sensitivity import what_to_measure
from simstore.report.charts.stress import under_stress
from simstore.report.charts.trade_off import hours_and_excess, tradeoff

__all__ = [
    "cadence_and_stock",
    "hours_and_excess",
    "paired_differences",
    "tradeoff",
    "under_stress",
    "what_more_buys",
    "what_to_measure",
]
