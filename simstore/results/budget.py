"""The budget of one plan, line by line: quantity, price, life; the page and the workbook show the same.

A line is a quantity times a price that a finance officer can change: the mean over the runs of the same line of
`simstore.money.costs`. The simulation rounds each line of each run to whole cents; the sum of these roundings is a line
too, so that the total is exactly the simulated one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from simstore.money.changeover import Changeover, changeover
from simstore.money.costs import CostLine, Sort, capital_line, capital_recovery_factor, running_line
from simstore.results.pooled import of_plan
from simstore.results.reading import ResultFolder
from simstore.scenario.values.settings import Settings

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlay:
    """Something to be bought, or worked, before the run begins.

    Attributes
    ----------
    label : str
    name : str
        Which kind, oven or packet of the scenario; empty for work.
    quantity : float
        Of ``unit``.
    price : float
        Of one unit. [currency]
    gel_kg : float
        Dry gel in all of it. [kg]
    """

    label: str
    name: str = ""
    quantity: float
    unit: str
    price: float
    gel_kg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """All money of one plan; means over its replications.

    Attributes
    ----------
    moving_h, testing_h : float
        Hours of moving objects into other enclosures, and of measuring leaks, before the run begins. [h]
    """

    plan: str
    currency: str
    discount_pct: float
    lines: tuple[CostLine, ...]
    outlays: tuple[Outlay, ...] = ()
    moving_h: float = 0.0
    testing_h: float = 0.0
    running_rounding: float = 0.0
    capital_rounding: float = 0.0

    @property
    def rate(self) -> float:
        """Discount rate, a share a year."""
        return self.discount_pct / 100.0

    def of_sort(self, sort: Sort) -> list[CostLine]:
        """Lines of one sort."""
        return [line for line in self.lines if line.sort == sort]

    def total(self, sort: Sort) -> float:
        """Sum of the lines of one sort. [currency/a]."""
        return sum(line.amount_per_year for line in self.of_sort(sort))

    @property
    def running_per_year(self) -> float:
        """Running costs, the rounding of single runs included. [currency/a]."""
        return self.total("running") + self.running_rounding

    @property
    def capital_per_year(self) -> float:
        """Equal yearly share of what lasts. [currency/a]."""
        return self.total("capital") + self.capital_rounding

    @property
    def whole_per_year(self) -> float:
        """Running costs and the yearly share of what lasts. [currency/a]."""
        return self.running_per_year + self.capital_per_year

    @property
    def outlay(self) -> float:
        """Money before the run begins. [currency]."""
        return sum(part.quantity * part.price for part in self.outlays)

    @property
    def first_year(self) -> float:
        """Outlay and the running costs of one year. [currency]."""
        return self.outlay + self.running_per_year

    @property
    def longest_life_years(self) -> float:
        """Longest life among what lasts; 20 years where nothing is known of it. [a]."""
        return max((line.life_years for line in self.lines if line.life_years is not None), default=20.0)

    def present_value(self, years: float) -> float:
        """Today's value of ``years`` years of the whole yearly costs. [currency]."""
        return self.whole_per_year / capital_recovery_factor(self.rate, years)


def budget_of(folder: ResultFolder, plan: str) -> Budget:
    """Work out the budget of ``plan`` from its tables."""
    settings = folder.settings_of(plan)
    prices = settings.prices
    known = plan in folder.scenario.settings.plans
    change = changeover(folder.scenario, plan) if known else None
    lines, rounded = _lines(folder, plan, settings) if folder.has_runs else _lines_in_short(folder, plan)
    exact: dict[Sort, float] = {"running": 0.0, "capital": 0.0}
    for line in lines:
        exact[line.sort] += line.amount_per_year
    return Budget(
        plan=plan,
        currency=prices.currency,
        discount_pct=prices.discount_pct_per_year,
        lines=tuple(line for line in lines if line.quantity * line.price != 0.0),
        outlays=() if change is None else tuple(_outlays(change, settings)),
        moving_h=0.0 if change is None else change.labour_h,
        testing_h=0.0 if change is None else change.test_h,
        running_rounding=rounded["running"] - exact["running"],
        capital_rounding=rounded["capital"] - exact["capital"],
    )


def _lines(folder: ResultFolder, plan: str, settings: Settings) -> tuple[list[CostLine], dict[Sort, float]]:
    """Mean lines of the runs, and the sums of what the runs themselves rounded."""
    costs = of_plan(folder.tables, "costs", plan)
    rate = settings.prices.discount_pct_per_year / 100.0
    lines = []
    rounded: dict[Sort, float] = {"running": 0.0, "capital": 0.0}
    for _, rows in costs.groupby(["line", "sort"], sort=False):
        line = _mean_line(rows, folder.replications, rate)
        rounded[line.sort] += float(rows["amount_per_year"].sum()) / folder.replications
        lines.append(line)
    return lines, rounded


def _mean_line(rows: pd.DataFrame, replications: int, rate: float) -> CostLine:
    """Mean of one line over the runs: the price is that of all that was bought, where runs paid different ones."""
    first = rows.iloc[0]
    whole = float(rows["quantity"].sum())
    price = float(first["price"])
    if whole and (rows["price"] != price).any():
        price = float((rows["quantity"] * rows["price"]).sum()) / whole
    if first["sort"] == "running":
        return running_line(first["line"], whole / replications, first["unit"], price)
    life_years = float(first["life_years"])
    return capital_line(first["line"], whole / replications, first["unit"], price, life_years=life_years, rate=rate)


def _lines_in_short(folder: ResultFolder, plan: str) -> tuple[list[CostLine], dict[Sort, float]]:
    """Lay out the summary alone, for studies, which keep no single costs."""
    running, whole = (folder.summary[plan][name].estimate.mean for name in ("cost_per_year", "annual_equivalent_cost"))
    capital = whole - running
    lines = [
        running_line("running costs", 1.0, "", running),
        CostLine("share of what lasts", "capital", 1.0, "", capital, None, capital),
    ]
    return lines, {"running": running, "capital": capital}


def _outlays(change: Changeover, settings: Settings) -> Iterator[Outlay]:
    """Goods at their own prices, and the hours of moving objects over apart from them."""
    for part in change.purchases:
        if part.bought and part.name:
            gel_kg = part.count * settings.packets[part.name].gel_kg if part.unit == "packets" else 0.0
            yield Outlay(
                label=part.what,
                name=part.name,
                quantity=part.count,
                unit=part.unit,
                price=part.goods_price,
                gel_kg=gel_kg,
            )
    if change.labour_h:
        price = change.labour_price / change.labour_h
        yield Outlay(label="labour of re-housing", quantity=change.labour_h, unit="h", price=price)
    if change.test_h:
        price = change.test_price / change.test_h
        yield Outlay(label="labour of leak tests", quantity=change.test_h, unit="h", price=price)
