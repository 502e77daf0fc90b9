"""The charts for decisions; each module says which tidy table it takes."""

from simstore.report.chart_cadence import cadence_and_stock
from simstore.report.chart_differences import paired_differences, what_more_buys
from simstore.report.chart_sensitivity import what_to_measure
from simstore.report.chart_stress import under_stress
from simstore.report.chart_tradeoff import hours_and_excess, tradeoff

__all__ = [
    "cadence_and_stock",
    "hours_and_excess",
    "paired_differences",
    "tradeoff",
    "under_stress",
    "what_more_buys",
    "what_to_measure",
]
