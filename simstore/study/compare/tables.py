"""A comparison as tables, and as the rows of its chart."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from simstore.lab.runs_table import runs_table
from simstore.study.compare.comparison import Comparison, money_by_year

if TYPE_CHECKING:
    import pandas as pd

DRAWN: Final = (
    ("held_pct.{}", "object-days held: {}", "points", "higher"),
    ("excess_pct_days.{}", "over its ceiling: {}", "%RH days a year", "lower"),
    ("exchanges", "enclosures changed", "a year", "lower"),
    ("staff_h", "hours at work", "h a year", "lower"),
    ("peak_week_h", "busiest week", "h", "lower"),
    ("loads", "oven loads", "a year", "lower"),
    ("gel_bought_kg", "gel bought", "kg a year", "lower"),
    ("energy_kwh", "electricity", "kWh a year", "lower"),
    ("cost_per_year", "running costs", "{currency} a year", "lower"),
    ("annual_equivalent_cost", "cost with capital", "{currency} a year", "lower"),
)
"""Metric (a metal class where {} stands), label, unit and which way is better, in the chart's order."""


def tables_of(found: Comparison) -> dict[str, pd.DataFrame]:
    """Make the tables: inputs, differences, changing over, years, and the metrics of every run."""
    import pandas as pd

    changes = [
        (plan, line.what, line.count, line.unit_price, line.life_years, "yes" if line.bought else "no")
        for plan, change in found.changeovers.items()
        for line in change.purchases
    ]
    return {
        "inputs": pd.DataFrame([(row.key, *row.under) for row in found.inputs], columns=["key", *found.plans]),
        "differences": pd.DataFrame(found.differences)
        .drop(columns="caution")
        .assign(against=found.plans[0])
        .astype({"rare_runs": "Int64"}),
        "changeover": pd.DataFrame(
            changes, columns=["plan", "what", "count", "unit_price", "life_years", "bought_at_start"]
        ),
        "years": pd.DataFrame(money_by_year(found), columns=["plan", "year", "paid", "discounted_sum"]),
        "summary": runs_table(found.runs),
    }


def drawn_rows(found: Comparison, plan: str) -> pd.DataFrame:
    """Choose the rows of the chart of differences: the main metrics that differ in some run."""
    import pandas as pd

    settings = found.scenario.settings
    metals = [metal for metal in settings.metals if any(row.metric == f"held_pct.{metal}" for row in found.differences)]
    rows = []
    for name, label, unit, better in DRAWN:
        for metal in metals if "{}" in name else [""]:
            row = found.difference(plan, name.format(metal))
            if row.low != 0.0 or row.high != 0.0 or not metal:
                said = label.format(metal)
                rows.append((said, unit.format(currency=settings.prices.currency), row.mean, row.low, row.high, better))
    return pd.DataFrame(rows, columns=["label", "unit", "mean", "low", "high", "better"])
