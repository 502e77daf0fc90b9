"""What it costs to change from one way of housing to another, and when that has paid for itself.

The flow of money of a plan, year by year: what is bought and done at the start, the running costs of every year, and
what wears out. New enclosures are bought together and wear out together at the end of their life; those that are in
use already are of mixed age, so that an equal share of them wears out each year. Whoever replaces a worn enclosure
moves its objects, which takes the programme's minutes each time.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simstore.money.costs import (
    OPENING_STOCK_LIFE_YEARS,
    leak_test_min,
    mean_wage_per_h,
    move_min,
    packet_price,
)
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import AS_REGISTERED
from simstore.scenario.values.settings import Settings
from simstore.store.housed import Housed, housed, packets_in
from simstore.units import MINUTES_PER_HOUR

FloatArray = NDArray[np.float64]
HORIZON_YEARS: Final = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Something that is bought at the start, or is there already, and wears out.

    Attributes
    ----------
    unit : str
        What is counted: "enclosures", "ovens", "packets", or "leak tests".
    name : str
        Which, as in the scenario; empty for leak tests.
    count : int
        How many.
    goods_price, labour_price : float
        Price of one, and of the labour of putting it to use. [currency]
    life_years : float
        Life of one.
    bought : bool
        Bought at the start; otherwise in use already, of mixed age.
    """

    unit: str
    name: str = ""
    count: int
    goods_price: float
    labour_price: float = 0.0
    life_years: float
    bought: bool

    @property
    def what(self) -> str:
        """Name for tables."""
        if not self.name:
            return f"{self.unit} of what is in use"
        return f"{'new ' if self.bought else ''}{self.unit}: {self.name}"

    @property
    def unit_price(self) -> float:
        """Price of one, with the labour of putting it to use. [currency]."""
        return self.goods_price + self.labour_price

    def spent(self, horizon_years: int) -> FloatArray:
        """Money in each year, shape (horizon_years + 1,); year 0 is the start. [currency]."""
        flow = np.zeros(horizon_years + 1)
        if not self.bought:
            flow[1:] = self.count * self.unit_price / self.life_years
            return flow
        times = 0
        while times * self.life_years < horizon_years:
            flow[math.ceil(times * self.life_years)] += self.count * self.unit_price
            times += 1
        return flow


@dataclass(frozen=True, slots=True, kw_only=True)
class Changeover:
    """What a plan needs beyond the store as it is, and what it wears out.

    Attributes
    ----------
    moved : int
        Enclosures whose objects move to another kind.
    labour_h : float
        Hours for moving them.
    labour_price, goods_price : float
        Of the hours, and of all that is bought at the start. [currency]
    purchases : tuple of Purchase
    tested : int
        Enclosures whose leak must be measured before the plan can begin.
    test_h, test_price : float
        Hours for that, and their price. [currency]
    """

    moved: int
    labour_h: float
    labour_price: float
    goods_price: float
    purchases: tuple[Purchase, ...]
    tested: int = 0
    test_h: float = 0.0
    test_price: float = 0.0

    @property
    def outlay(self) -> float:
        """Money at the start. [currency]."""
        return self.labour_price + self.test_price + self.goods_price


def changeover(scenario: Scenario, plan: str) -> Changeover:
    """Work out what ``plan`` needs at the start and what wears out under it.

    Parameters
    ----------
    scenario : Scenario
        As the user gave it: the store as it is.
    plan : str
        Name of a plan; its own changes may add ovens and packets.
    """
    before, after = scenario.settings, scenario.under(plan).settings
    own = after.plans[plan]
    wage = mean_wage_per_h(after)
    move_h = move_min(after, own) / MINUTES_PER_HOUR
    test_h = leak_test_min(after, own) / MINUTES_PER_HOUR
    rows = housed(after, own, scenario.enclosures)
    moved = [row for row in rows if row.kind_name != row.enclosure.kind]
    unknown = tested = 0
    if test_h:
        unknown = sum(row.kind_name == row.enclosure.kind and not row.enclosure.leak_known for row in rows)
        tested = len(moved) + unknown
    purchases = (
        *_enclosures(after, rows, (move_h + test_h) * wage),
        *_ovens(before, after),
        *_packets(before, after, rows, scenario),
        *_tests(unknown, test_h * wage),
    )
    return Changeover(
        moved=len(moved),
        labour_h=len(moved) * move_h,
        labour_price=len(moved) * move_h * wage,
        goods_price=sum(one.count * one.goods_price for one in purchases if one.bought),
        purchases=purchases,
        tested=tested,
        test_h=tested * test_h,
        test_price=tested * test_h * wage,
    )


def _tests(count: int, price: float) -> Iterator[Purchase]:
    """Measure the leak of enclosures that stay; what takes their place later is tested when it is put to use."""
    if count:
        yield Purchase(
            unit="leak tests", count=count, goods_price=0.0, labour_price=price, life_years=HORIZON_YEARS, bought=True
        )


def _enclosures(settings: Settings, rows: list[Housed], hand_price: float) -> Iterator[Purchase]:
    counts = Counter((row.kind_name, row.kind_name != row.enclosure.kind) for row in rows)
    for (name, bought), count in sorted(counts.items()):
        kind = settings.kinds[name]
        yield Purchase(
            unit="enclosures",
            name=name,
            count=count,
            goods_price=kind.unit_price,
            labour_price=hand_price,
            life_years=kind.life_years,
            bought=bought,
        )


def _ovens(before: Settings, after: Settings) -> Iterator[Purchase]:
    for name, oven in sorted(after.ovens.items()):
        there = before.ovens[name].count if name in before.ovens else 0
        for count, bought in ((min(there, oven.count), False), (oven.count - there, True)):
            if count > 0:
                yield Purchase(
                    unit="ovens",
                    name=name,
                    count=count,
                    goods_price=oven.unit_price,
                    life_years=oven.life_years,
                    bought=bought,
                )


def _packets(before: Settings, after: Settings, rows: list[Housed], scenario: Scenario) -> Iterator[Purchase]:
    """Packets that the plan needs and the store does not have; what is left over earns nothing."""
    as_it_is = before.plans[before.default_plan].model_copy(update={"programme": AS_REGISTERED})
    there = _packet_counts(before, housed(before, as_it_is, scenario.enclosures))
    for name, count in sorted(_packet_counts(after, rows).items()):
        if count > there[name]:
            yield Purchase(
                unit="packets",
                name=name,
                count=count - there[name],
                goods_price=packet_price(after, after.packets[name]),
                life_years=OPENING_STOCK_LIFE_YEARS,
                bought=True,
            )


def _packet_counts(settings: Settings, rows: list[Housed]) -> Counter[str]:
    outside = Counter({name: stock.ready + stock.spent for name, stock in settings.stock.items()})
    outside.update(packets_in(rows))
    return outside


def cumulative_cost(
    change: Changeover, running_per_year: float, *, discount_pct: float, horizon_years: int = HORIZON_YEARS
) -> tuple[FloatArray, FloatArray]:
    r"""Money paid in each year, and its discounted sum up to the end of each year.

    .. math:: C_Y = \sum_{y=0}^{Y} \frac{c_y}{(1 + i)^y}

    Parameters
    ----------
    change : Changeover
    running_per_year : float
        Running costs, paid at the end of each year from the first. [currency/a]
    discount_pct : float
        Discount rate i. [% per year]
    horizon_years : int
        Last year.

    Returns
    -------
    ndarray, shape (horizon_years + 1,)
        Paid in each year; year 0 is the start. [currency]
    ndarray, shape (horizon_years + 1,)
        Discounted sum. [currency]

    References
    ----------
    .. [1] NCEES, "FE Reference Handbook", chapter Engineering Economics, factor P/F.
    """
    paid = np.zeros(horizon_years + 1)
    paid[1:] = running_per_year
    for purchase in change.purchases:
        paid += purchase.spent(horizon_years)
    return paid, np.cumsum(paid / (1.0 + discount_pct / 100.0) ** np.arange(horizon_years + 1))


def break_even_year(dearer_at_first: FloatArray, other: FloatArray) -> int | None:
    """Find the first year from which the one that costs more at first has cost no more, to the end; None if never.

    Parameters
    ----------
    dearer_at_first, other : ndarray, shape (years + 1,)
        Discounted sums of two plans, from year 0.
    """
    behind = np.flatnonzero(dearer_at_first > other)
    if behind.size == 0:
        return 0
    after = int(behind[-1]) + 1
    return after if after < len(other) else None
