"""A store in which the buyer of the simulator meets the textbook's demand.

The buyer of the simulator looks once a day. The textbook's buyer looks all the time, so a textbook day is a hundred
days (ten, where demand is random) of the simulator here, and a packet a small part of the textbook's unit.
"""

from __future__ import annotations

import math

import numpy as np
from sim import queue_site

from simstore.sim.packets import Parcel
from simstore.sim.receiving import Receiving
from simstore.units import MINUTES_PER_DAY


class Shop:
    """A store in which somebody takes packets, and deliveries are on the shelf at once."""

    def __init__(self, *, quantity: int, point: int, lead_days: int, ready: int) -> None:
        self.site = queue_site.open_empty("")
        self.receiving = self.site.source(Receiving)
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
            yield self.site.news
            while self.receiving.arrived:
                self.before_delivery.append(len(self.shelf.ready) - self.owed)
                self.receiving.take_in(self.receiving.arrived.popleft())
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
        for process in self.receiving.processes():
            site.env.process(process)
        site.env.run(until=days * MINUTES_PER_DAY)


def steady(
    demand_a_year: float, quantity: float, *, per_unit: float, slow: int, lead_days: float
) -> tuple[float, float]:
    """Orders a year and mean stock under a steady demand; a packet is one ``per_unit``-th of the textbook's unit."""
    rate = demand_a_year / 365 * per_unit / slow  # packets a day of the simulator
    lot = round(quantity * per_unit)
    point = round(demand_a_year / 365 * lead_days * per_unit)
    shop = Shop(quantity=lot, point=point, lead_days=round(lead_days * slow), ready=point + lot)
    parts = 0.0

    def demand():
        nonlocal parts
        parts += rate
        whole = int(parts)
        parts -= whole
        return whole

    shop.run(demand, round(40 * lot / rate))
    # Whole cycles only: from the sixth order to the last.
    placed = [order.ordered_min // MINUTES_PER_DAY for order in shop.site.record.orders][5:]
    orders_a_year = (len(placed) - 1) / ((placed[-1] - placed[0]) / slow / 365)
    return orders_a_year, float(np.mean(shop.levels[placed[0] : placed[-1]])) / per_unit


def before_deliveries(rate: float, sd: float, lead: int, point: float, *, per_unit: float, cycles: int) -> np.ndarray:
    """Packets left when each delivery comes, owed ones below 0; demand in the lead time is normal, by day.

    Outside of the lead time demand only brings the stock down to the reorder point, exactly.
    """
    slow, rng = 10, np.random.default_rng(3)
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
    return np.array(shop.before_delivery)
