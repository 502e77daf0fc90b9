"""The budget of one plan, line by line: quantity, price, life; the page and the workbook show the same.

A line is a quantity times a price that a finance officer can change. Its amount is checked against the simulated
costs; what the formula does not explain to the cent (a sort of cost that has no simple price) becomes a line of one
amount. The simulation rounds each line of each run to whole cents; the sum of these roundings is a line too, so that
the total is exactly the simulated one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from simstore.money.changeover import LEAK_TESTS, Changeover, changeover
from simstore.money.costs import (
    IDLE,
    OPENING_STOCK_LIFE_YEARS,
    capital_recovery_factor,
    mean_wage_per_h,
    packet_price,
    put_to_use_min,
)
from simstore.results.pooled import of_plan
from simstore.results.reading import ResultFolder
from simstore.scenario.values.settings import Settings
from simstore.store.housed import housed, packets_in
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_HOUR

if TYPE_CHECKING:
    import pandas as pd

CENT: Final = 0.01
MOVING: Final = "labour of re-housing"
TESTING: Final = "labour of leak tests"


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """One line of the budget.

    Attributes
    ----------
    label : str
    sort : str
        "running" or "capital" (an equal yearly share of what lasts).
    quantity : float
        Of ``unit``, a year (running) or in all (capital).
    price : float
        Of one unit. [currency]
    life_years : float or None
        Life of what lasts.
    """

    label: str
    sort: Literal["running", "capital"]
    quantity: float
    unit: str
    price: float
    life_years: float | None = None

    def amount(self, rate: float) -> float:
        """Return what the line costs a year at the discount rate ``rate`` (a share). [currency/a]."""
        whole = self.quantity * self.price
        return whole if self.life_years is None else whole * capital_recovery_factor(rate, self.life_years)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlay:
    """Something to be bought before the run begins."""

    label: str
    quantity: float
    unit: str
    price: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """All money of one plan; means over its replications."""

    plan: str
    currency: str
    discount_pct: float
    lines: tuple[BudgetLine, ...]
    outlays: tuple[Outlay, ...]
    running_rounding: float
    capital_rounding: float

    @property
    def rate(self) -> float:
        """Discount rate, a share a year."""
        return self.discount_pct / 100.0

    def total(self, sort: str) -> float:
        """Sum of the lines of one sort. [currency/a]."""
        return sum(line.amount(self.rate) for line in self.lines if line.sort == sort)

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
    def moving_h(self) -> float:
        """Hours of moving objects into other enclosures before the run begins."""
        return sum(part.quantity for part in self.outlays if part.label == MOVING)

    @property
    def testing_h(self) -> float:
        """Hours of measuring leaks before the run begins."""
        return sum(part.quantity for part in self.outlays if part.label == TESTING)

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
    if not folder.has_runs:
        return _budget_in_short(folder, plan, settings)
    costs = of_plan(folder.tables, "costs", plan)
    replications = folder.replications
    rate = settings.prices.discount_pct_per_year / 100.0
    lines = []
    rounding = {"running": 0.0, "capital": 0.0}
    for (label, sort), rows in costs.groupby(["line", "sort"], sort=False):
        mean = float(rows["amount_per_year"].sum()) / replications
        line = _line(folder, plan, settings, str(label), str(sort), mean)
        # Each run rounds a line to whole cents, so a true formula is out by half a cent at most.
        if line is None or abs(line.amount(rate) - mean) > 0.5 * CENT + 1e-9:
            line = BudgetLine(label=str(label), sort=_sort(str(sort)), quantity=1.0, unit="", price=mean)
        rounding[line.sort] += mean - line.amount(rate)
        if line.quantity * line.price != 0.0:
            lines.append(line)
    lines.sort(key=lambda line: (line.sort == "capital", _place(line.label)))
    return Budget(
        plan=plan,
        currency=settings.prices.currency,
        discount_pct=settings.prices.discount_pct_per_year,
        lines=tuple(lines),
        outlays=_outlays_of(folder, plan),
        running_rounding=rounding["running"],
        capital_rounding=rounding["capital"],
    )


def _budget_in_short(folder: ResultFolder, plan: str, settings: Settings) -> Budget:
    """Budget from the summary alone, for studies, which keep no single costs."""
    running, whole = (folder.summary[plan][name].estimate.mean for name in ("cost_per_year", "annual_equivalent_cost"))
    return Budget(
        plan=plan,
        currency=settings.prices.currency,
        discount_pct=settings.prices.discount_pct_per_year,
        lines=(
            BudgetLine(label="running costs", sort="running", quantity=1.0, unit="", price=running),
            BudgetLine(label="share of what lasts", sort="capital", quantity=1.0, unit="", price=whole - running),
        ),
        outlays=_outlays_of(folder, plan),
        running_rounding=0.0,
        capital_rounding=0.0,
    )


def _outlays_of(folder: ResultFolder, plan: str) -> tuple[Outlay, ...]:
    if plan not in folder.scenario.settings.plans:
        return ()
    return tuple(_outlays(changeover(folder.scenario, plan), folder.settings_of(plan)))


def _sort(text: str) -> Literal["running", "capital"]:
    return "capital" if text == "capital" else "running"


def _place(label: str) -> int:
    order = ("labour", "gel", "packets", "energy", "disposal", "enclosures", "renewal", "ovens", "opening stock")
    return next((place for place, word in enumerate(order) if label.startswith(word)), len(order))


def _outlays(change: Changeover, settings: Settings) -> Iterator[Outlay]:
    """Goods at their own prices, and the hours of moving objects over apart from them."""
    for purchase in change.purchases:
        if purchase.bought and purchase.what != LEAK_TESTS:
            unit = purchase.what.split(":")[0].removeprefix("new ")
            name = purchase.what.partition(": ")[2]
            price = settings.kinds[name].unit_price if unit == "enclosures" else purchase.unit_price
            yield Outlay(label=purchase.what, quantity=purchase.count, unit=unit, price=price)
    if change.labour_h:
        yield Outlay(label=MOVING, quantity=change.labour_h, unit="h", price=change.labour_price / change.labour_h)
    if change.test_h:
        yield Outlay(label=TESTING, quantity=change.test_h, unit="h", price=change.test_price / change.test_h)


def _line(folder: ResultFolder, plan: str, settings: Settings, label: str, sort: str, mean: float) -> BudgetLine | None:
    """Return the line as quantity times price, None where nothing of that kind is known for it."""
    if sort == "capital":
        return _capital(folder, plan, settings, label)
    prices = settings.prices
    if label.startswith("labour of ") and label.removeprefix("labour of ") in settings.technicians:
        person = label.removeprefix("labour of ")
        hours = _hours(folder, plan, person)
        return _running(label, hours, "h", settings.technicians[person].wage_per_h)
    if label == "energy":
        return _running(label, _per_year(folder, plan, "loads", "energy_kwh"), "kWh", prices.energy_per_kwh)
    if label in ("gel purchases", "packets purchased"):
        column, unit = ("gel_kg", "kg") if label == "gel purchases" else ("packets", "packets")
        bought = _per_year(folder, plan, "orders", column)
        return _running(label, bought, unit, mean / bought) if bought else None
    if label.startswith("disposal"):
        price = prices.hazardous_disposal_per_kg if "hazardous" in label else prices.disposal_per_kg
        return _running(label, mean / price, "kg", price) if price else None
    if label == "packets worn out" and len(settings.packets) == 1:
        (packet,) = settings.packets.values()
        worn = _per_year(folder, plan, "exchanges", "packets") / packet.life_cycles
        return _running(label, worn, "packets", packet.unit_price)
    return None


def _running(label: str, quantity: float, unit: str, price: float) -> BudgetLine:
    return BudgetLine(label=label, sort="running", quantity=quantity, unit=unit, price=price)


def _capital(folder: ResultFolder, plan: str, settings: Settings, label: str) -> BudgetLine | None:
    head, _, name = label.partition(": ")
    count, unit, price, life = 0.0, head, 0.0, 1.0
    if head == "ovens" and name in settings.ovens:
        oven = settings.ovens[name]
        count, price, life = oven.count, oven.unit_price, oven.life_years
    elif head == "enclosures" and name in settings.kinds:
        kind = settings.kinds[name]
        count, price, life = _of_kind(folder, plan, name), kind.unit_price, kind.life_years
    elif head == "opening stock" and name in settings.stock:
        count, unit = settings.stock[name].ready + settings.stock[name].spent, "packets"
        price, life = packet_price(settings, settings.packets[name]), OPENING_STOCK_LIFE_YEARS
    elif head == "gel in enclosures" and name in settings.packets:
        price, life = packet_price(settings, settings.packets[name]), OPENING_STOCK_LIFE_YEARS
        rows = housed(settings, settings.plans[plan], folder.scenario.enclosures)
        count, unit = packets_in(rows)[name], "packets"
    elif head == "renewal labour" and name in settings.kinds:
        hours = put_to_use_min(settings, settings.plans[plan]) / MINUTES_PER_HOUR
        count, unit = _of_kind(folder, plan, name) * hours, "h"
        price, life = mean_wage_per_h(settings), settings.kinds[name].life_years
    else:
        return None
    return BudgetLine(label=label, sort="capital", quantity=count, unit=unit, price=price, life_years=life)


def _of_kind(folder: ResultFolder, plan: str, kind: str) -> float:
    """Enclosures of one kind under a plan."""
    return int((of_plan(folder.tables, "enclosures", plan)["kind"] == kind).sum()) / folder.replications


def run_years(tables: Mapping[str, pd.DataFrame], plan: str) -> float:
    """Length of a run. [a]."""
    days = of_plan(tables, "days", plan)["day"]
    return (int(days.max()) + 1) / DAYS_PER_YEAR


def _per_year(folder: ResultFolder, plan: str, table: str, column: str) -> float:
    years = run_years(folder.tables, plan)
    return float(of_plan(folder.tables, table, plan)[column].sum()) / folder.replications / years


def _hours(folder: ResultFolder, plan: str, person: str) -> float:
    staff = of_plan(folder.tables, "staff", plan)
    worked = staff[(staff["technician"] == person) & (staff["task"] != IDLE)]["minutes"].sum()
    years = run_years(folder.tables, plan)
    return float(worked) / MINUTES_PER_HOUR / folder.replications / years
