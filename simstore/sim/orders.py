"""Buying packets: when usable stock falls to the reorder point, an order goes out and arrives after its lead time."""

from __future__ import annotations

from collections.abc import Generator

import simpy

from simstore.sim.packets import Parcel, Shelf
from simstore.sim.record import Order, StockDay
from simstore.sim.site import Site
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_DAY

MINUTES_PER_YEAR = int(DAYS_PER_YEAR) * MINUTES_PER_DAY


def buyer(site: Site) -> Generator[simpy.Event, object, None]:
    """Look at every shelf once a day and order what has run down."""
    while True:
        for sort, shelf in site.stockroom.shelves.items():
            stock = shelf.stock
            if stock.order_quantity and _usable(site, shelf) + shelf.on_order <= stock.reorder_point:
                order = _order(site, sort, shelf)
                if order is not None:
                    site.env.process(_delivery(site, shelf, order))
        yield site.env.timeout(MINUTES_PER_DAY)


def _usable(site: Site, shelf: Shelf) -> int:
    """Packets that are or will be usable and are not in an enclosure; spent ones are of no use without an oven."""
    dries = any(oven.count for oven in site.settings.ovens.values())
    return shelf.outside if dries else shelf.outside - len(shelf.spent)


def _order(site: Site, sort: str, shelf: Shelf) -> Order | None:
    quantity = shelf.stock.packets_ordered
    gel_kg = quantity * shelf.packet.gel_kg
    full_price = quantity * shelf.packet.unit_price + gel_kg * shelf.sorbent.price_per_kg
    price = full_price * (1.0 - shelf.stock.discount_pct(quantity) / 100.0)
    year = site.now_min // MINUTES_PER_YEAR
    budget = site.settings.prices.budget_per_year
    if budget is not None and site.bought_in_year.get(year, 0.0) + price > budget:
        return None
    site.bought_in_year[year] = site.bought_in_year.get(year, 0.0) + price
    shelf.on_order += quantity
    order = Order(ordered_min=site.now_min, packet=sort, packets=quantity, gel_kg=gel_kg, price=price)
    site.record.orders.append(order)
    return order


def _delivery(site: Site, shelf: Shelf, order: Order) -> Generator[simpy.Event, object, None]:
    yield site.env.timeout(round(shelf.stock.lead_days * MINUTES_PER_DAY))
    order.arrived_min = site.now_min
    site.board.deliveries.append((order.packet, order.packets))
    site.board.tell()


def receive(site: Site, sort: str, count: int) -> None:
    """Put delivered gel, still to be filled into packets, with the dried packets."""
    shelf = site.stockroom.shelves[sort]
    books = site.stockroom.books
    shelf.on_order -= count
    for _ in range(count):
        water_kg = shelf.packet.gel_kg * shelf.sorbent.supplied_water_pct / 100.0
        shelf.lay_dried(Parcel(sort, shelf.packet.gel_kg, water_kg, since_min=site.now_min))
        books.gel_bought_kg += shelf.packet.gel_kg
        books.water_bought_kg += water_kg
        books.absolute_kg += water_kg


def stock_taking(site: Site) -> Generator[simpy.Event, object, None]:
    """Write down every shelf at the end of every day."""
    for day in range(site.days):
        yield site.env.timeout(MINUTES_PER_DAY - 1 if day == 0 else MINUTES_PER_DAY)
        for sort, shelf in site.stockroom.shelves.items():
            piles = (shelf.ready, shelf.spent, shelf.dried)
            outside_kg = sum(p.gel_kg for pile in piles for p in pile) + shelf.loose_gel_kg
            elsewhere_kg = (shelf.in_oven + shelf.in_enclosures) * shelf.packet.gel_kg
            site.record.stock.append(
                StockDay(
                    day=day,
                    packet=sort,
                    ready=len(shelf.ready),
                    spent=len(shelf.spent) + len(shelf.dried),
                    in_oven=shelf.in_oven,
                    in_enclosures=shelf.in_enclosures,
                    on_order=shelf.on_order,
                    discarded=shelf.discarded,
                    gel_kg=outside_kg + elsewhere_kg,
                    lost_kg=shelf.lost_kg,
                )
            )
