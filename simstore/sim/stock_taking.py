"""The books of the stock: every shelf is written down at the end of every day."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.sim.record import StockDay
from simstore.sim.work_source import Work, WorkSource
from simstore.units import MINUTES_PER_DAY


class StockTaking(WorkSource):
    """Writes down what lies where; it takes nobody's time."""

    def processes(self) -> Iterator[Work]:
        """Come a minute before each midnight."""
        yield self._days()

    def _days(self) -> Work:
        site = self.site
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
