"""Buying against the economic order quantity and the reorder point of the textbook, under their assumptions.

The buyer of the simulator looks once a day. The textbook's buyer looks all the time, so a textbook day is a hundred
days (ten, where demand is random) of the simulator here, and a packet a small part of the textbook's unit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from sim import queue_site
from sim.queue_theory import order_quantity, safety

from simstore.sim.orders import buyer, receive
from simstore.sim.packets import Parcel
from simstore.units import MINUTES_PER_DAY

# Source: a textbook's two worked examples of order quantity and reorder point, as the reference values give them.
# demand a year, order cost, holding cost a unit and year, sd of demand, lead time, both in one unit of time.
EXAMPLES = [
    pytest.param(2400.0, 5.0, 4.0, 2400 / 365, 4.0, 7.0, 0.98, 77.46, None, 67.73, id="2400 a year"),
    # "120/wk sd": 14 000 a year over 52 weeks, lead time 3 weeks
    pytest.param(14000.0, 320.0, 4.0, 14000 / 52, 120.0, 3.0, 0.95, 1497.0, 342.0, 1150.0, id="14000 a year"),
]


@pytest.mark.parametrize(
    ("demand", "order", "holding", "rate", "sd", "lead", "service", "quantity", "spare", "point"), EXAMPLES
)
def test_formulas_give_the_printed_examples(demand, order, holding, rate, sd, lead, service, quantity, spare, point):
    assert order_quantity(demand, order, holding) == pytest.approx(quantity, abs=0.005 if quantity < 100 else 0.5)
    found = safety(sd, lead, service)
    if spare is not None:
        assert found == pytest.approx(spare, abs=0.5)
    # 67.73 was printed from z = 2.05 and a whole 46.03: half of the last digit of z is 0.05 units
    assert rate * lead + found == pytest.approx(point, abs=0.06 if point < 100 else 0.8)


class Shop:
    """A store in which somebody takes packets, and deliveries are on the shelf at once."""

    def __init__(self, *, quantity: int, point: int, lead_days: int, ready: int) -> None:
        self.site = queue_site.open_empty("")
        self.shelf = self.site.stockroom.shelves["small"]
        self.shelf.stock = self.shelf.stock.model_copy(
            update={"reorder_point": point, "order_quantity": quantity, "lead_days": float(lead_days)}
        )
        self.owed = 0
        self.before_delivery: list[int] = []
        self.levels: list[int] = []
        self.fill(ready)

    def fill(self, count: int) -> None:
        self.shelf.ready.extend(Parcel("small", 0.25, 0.0) for _ in range(count))

    def take(self, count: int) -> None:
        """Take packets away, or owe them; a negative count brings some back."""
        if count < 0:
            back = min(-count, self.owed)
            self.owed -= back
            self.fill(-count - back)
            return
        here = min(count, len(self.shelf.ready))
        for _ in range(here):
            self.shelf.ready.popleft()
        self.owed += count - here

    def storeman(self):
        """Put what has come on the shelf, and hand out what is owed."""
        while True:
            yield self.site.board.news
            while self.site.board.deliveries:
                self.before_delivery.append(len(self.shelf.ready) - self.owed)
                receive(self.site, *self.site.board.deliveries.popleft())
                self.shelf.ready.extend(self.shelf.dried)
                self.shelf.dried.clear()
                owed, self.owed = self.owed, 0
                self.take(owed)

    def run(self, demand, days: int) -> None:
        def daily():
            for _ in range(days):
                self.take(demand())
                self.levels.append(len(self.shelf.ready))
                yield self.site.env.timeout(MINUTES_PER_DAY)

        site = self.site
        site.env.process(self.storeman())
        site.env.process(daily())
        site.env.process(buyer(site))
        site.env.run(until=days * MINUTES_PER_DAY)


def cost_of(quantity_units: float) -> tuple[float, float, float]:
    """Orders a year, mean stock and cost a year of the first example; a packet is a fiftieth of a unit."""
    per_unit, slow = 50, 20
    demand_a_year, lead = 2400.0, 7.0
    rate = demand_a_year / 365 * per_unit / slow  # packets a day of the simulator
    quantity = round(quantity_units * per_unit)
    point = round(demand_a_year / 365 * lead * per_unit)
    shop = Shop(quantity=quantity, point=point, lead_days=round(lead * slow), ready=point + quantity)
    parts = 0.0

    def demand():
        nonlocal parts
        parts += rate
        whole = int(parts)
        parts -= whole
        return whole

    days = round(40 * quantity / rate)
    shop.run(demand, days)
    # Whole cycles only: from the sixth order to the last.
    placed = [order.ordered_min // MINUTES_PER_DAY for order in shop.site.record.orders][5:]
    orders_a_year = (len(placed) - 1) / ((placed[-1] - placed[0]) / slow / 365)
    mean = float(np.mean(shop.levels[placed[0] : placed[-1]])) / per_unit
    return orders_a_year, mean, 5.0 * orders_a_year + 4.0 * mean


def test_the_order_quantity_gives_the_orders_stock_and_least_cost_of_the_formula():
    # 2400 a year, 5 an order, 4 to hold one for a year: 77.46; orders 30.98 a year, mean stock 38.73, cost 309.84.
    best = order_quantity(2400.0, 5.0, 4.0)

    orders, mean, cost = cost_of(best)

    assert orders == pytest.approx(2400.0 / best, rel=0.02)
    assert mean == pytest.approx(best / 2.0, rel=0.02)
    assert cost == pytest.approx(math.sqrt(2.0 * 2400.0 * 5.0 * 4.0), rel=0.02)
    for share in (0.5, 2.0):
        # the formula's own: cost rises as (Q/Q* + Q*/Q)/2
        assert cost_of(best * share)[2] / cost == pytest.approx((share + 1.0 / share) / 2.0, rel=0.02)


@pytest.mark.parametrize(
    ("rate", "sd", "lead", "service", "point", "per_unit"),
    [
        pytest.param(2400 / 365, 4.0, 7, 0.98, 67.73, 4, id="2400 a year"),
        pytest.param(14000 / 52, 120.0, 3, 0.95, 1150.0, 0.2, id="14000 a year"),
    ],
)
def test_the_printed_reorder_point_keeps_the_service_level_it_promises(rate, sd, lead, service, point, per_unit):
    # Demand in the lead time is normal; outside of it, it only brings the stock down to the point, exactly.
    slow, cycles = 10, 1000
    rng = np.random.default_rng(3)
    level = round(point * per_unit)
    shop = Shop(quantity=2 * level, point=level, lead_days=lead * slow, ready=level)
    rest = 0.0

    def demand():
        nonlocal rest
        if not shop.shelf.on_order:
            return shop.shelf.outside - level if shop.shelf.outside > level else 0
        rest += rng.normal(rate * per_unit / slow, sd * per_unit / math.sqrt(slow))
        whole = round(rest)
        rest -= whole
        return whole

    shop.run(demand, cycles * (lead * slow + 1))

    served = np.array(shop.before_delivery) >= 0
    assert len(served) > 0.9 * cycles
    sampling = math.sqrt(service * (1 - service) / len(served))
    assert abs(served.mean() - service) <= 2.6 * sampling
    # and it is the safety stock that does it: without, every other cycle would run short
    bare = np.array(shop.before_delivery) - round(safety(sd, lead, service) * per_unit)
    assert (bare >= 0).mean() == pytest.approx(0.5, abs=0.05)
