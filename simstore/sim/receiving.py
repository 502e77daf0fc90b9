"""Buying packets: when usable stock falls to the reorder point, an order goes out, arrives and is taken in."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from simstore.sim.packets import Parcel, Shelf
from simstore.sim.record import Order, Undone
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.work_source import Job, Work, WorkSource
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_DAY

MINUTES_PER_YEAR = int(DAYS_PER_YEAR) * MINUTES_PER_DAY


class Receiving(WorkSource):
    """Take in a delivery.

    Attributes
    ----------
    arrived : deque of Order
        Deliveries that wait for somebody, as they came.
    """

    task = "receive"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.arrived: deque[Order] = deque()
        self._spent_in_year: dict[int, float] = {}

    def processes(self) -> Iterator[Work]:
        """Look at every shelf once a day."""
        yield self._buyer()

    def _buyer(self) -> Work:
        while True:
            for sort, shelf in self.site.stockroom.shelves.items():
                stock = shelf.stock
                if stock.order_quantity and self._usable(shelf) + shelf.on_order <= stock.reorder_point:
                    order = self._order(sort, shelf)
                    if order is not None:
                        self.site.env.process(self._delivery(shelf, order))
            yield self.site.env.timeout(MINUTES_PER_DAY)

    def _usable(self, shelf: Shelf) -> int:
        """Packets that are or will be usable and are not in an enclosure; spent ones are of no use without an oven."""
        dries = any(oven.count for oven in self.site.settings.ovens.values())
        return shelf.outside if dries else shelf.outside - len(shelf.spent)

    def _order(self, sort: str, shelf: Shelf) -> Order | None:
        quantity = shelf.stock.packets_ordered
        gel_kg = quantity * shelf.packet.gel_kg
        full_price = quantity * shelf.packet.unit_price + gel_kg * shelf.sorbent.price_per_kg
        price = full_price * (1.0 - shelf.stock.discount_pct(quantity) / 100.0)
        year = self.site.now_min // MINUTES_PER_YEAR
        budget = self.site.settings.prices.budget_per_year
        spent = self._spent_in_year.get(year, 0.0)
        if budget is not None and spent + price > budget:
            return None
        self._spent_in_year[year] = spent + price
        shelf.on_order += quantity
        order = Order(ordered_min=self.site.now_min, packet=sort, packets=quantity, gel_kg=gel_kg, price=price)
        self.site.record.orders.append(order)
        return order

    def _delivery(self, shelf: Shelf, order: Order) -> Work:
        yield self.site.env.timeout(round(shelf.stock.lead_days * MINUTES_PER_DAY))
        order.arrived_min = self.site.now_min
        self.arrived.append(order)
        self.site.tell()

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Take in the delivery that came first."""
        minutes = worker.pace_min(self.site.settings.tasks.receive_min)
        if self.arrived and minutes <= worker.left_min(self):
            yield Job(minutes, self._receive(minutes))

    def _receive(self, minutes: int) -> Work:
        order = self.arrived.popleft()
        yield self.site.env.timeout(minutes)
        self.take_in(order)

    def take_in(self, order: Order) -> None:
        """Put delivered gel, still to be filled into packets, with the dried packets."""
        shelf = self.site.stockroom.shelves[order.packet]
        books = self.site.stockroom.books
        shelf.on_order -= order.packets
        for _ in range(order.packets):
            water_kg = shelf.packet.gel_kg * shelf.sorbent.supplied_water_pct / 100.0
            shelf.lay_dried(Parcel(order.packet, shelf.packet.gel_kg, water_kg, since_min=self.site.now_min))
            books.gel_bought_kg += shelf.packet.gel_kg
            books.water_bought_kg += water_kg
            books.absolute_kg += water_kg

    def undone(self) -> Iterator[Undone]:
        """List deliveries that nobody has taken in."""
        for order in self.arrived:
            yield Undone(self.task, order.packet, order.arrived_min or 0)
