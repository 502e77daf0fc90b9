"""What is to be done: the list that technicians work from, most urgent first."""

from __future__ import annotations

import heapq
from collections import deque
from dataclasses import dataclass, field

import simpy

from simstore.scenario.values.events import Rehousing
from simstore.sim.record import Round


@dataclass(order=True, slots=True)
class ExchangeDue:
    """An exchange that is wanted; the order is that of urgency.

    Attributes
    ----------
    ceiling_pct : float
        Ceiling of the metal inside: the driest first.
    minus_over_pct : float
        How far it was read, or is believed, to be over, with a minus.
    due_min : int
        When it became due.
    enclosure : int
        Number in the register's order.
    """

    ceiling_pct: float
    minus_over_pct: float
    due_min: int
    enclosure: int
    reason: str = field(compare=False)


@dataclass(slots=True)
class Board:
    """Work that waits, and an event for those who wait for work.

    Visits and moves carry the minute when they became due. ``pending`` holds enclosures whose exchange is wanted, or is
    being made.
    """

    env: simpy.Environment
    exchanges: dict[str, list[ExchangeDue]] = field(default_factory=dict)
    pending: set[int] = field(default_factory=set)
    inspections: deque[tuple[int, Round]] = field(default_factory=deque)
    deliveries: deque[tuple[str, int]] = field(default_factory=deque)
    visits: deque[tuple[int, int, int]] = field(default_factory=deque)
    replacements: deque[int] = field(default_factory=deque)
    moves: deque[tuple[int, Rehousing, int]] = field(default_factory=deque)
    news: simpy.Event = field(init=False)

    def __post_init__(self) -> None:
        self.news = self.env.event()

    def tell(self) -> None:
        """Wake everybody who waits for work."""
        news, self.news = self.news, self.env.event()
        news.succeed()

    def want(self, sort: str, due: ExchangeDue) -> None:
        """Put an exchange on the list unless that enclosure is on it."""
        if due.enclosure not in self.pending:
            self.pending.add(due.enclosure)
            heapq.heappush(self.exchanges.setdefault(sort, []), due)

    def put_back(self, sort: str, due: ExchangeDue) -> None:
        """Put an exchange back that could not be finished."""
        heapq.heappush(self.exchanges.setdefault(sort, []), due)

    def most_urgent(self, sorts: list[str]) -> tuple[str, ExchangeDue] | None:
        """Return the most urgent exchange among those of the packets ``sorts``, and leave it on the list."""
        heads = [(self.exchanges[sort][0], sort) for sort in sorts if self.exchanges.get(sort)]
        if not heads:
            return None
        due, sort = min(heads)
        return sort, due

    def take(self, sort: str) -> ExchangeDue:
        """Take the most urgent exchange of packet ``sort`` off the list."""
        return heapq.heappop(self.exchanges[sort])

    def done(self, enclosure: int) -> None:
        """Forget an exchange that has been made."""
        self.pending.discard(enclosure)

    def in_hand(self, enclosure: int) -> bool:
        """Whether somebody is making the exchange of an enclosure now, or keeps it for other work."""
        waits = any(due.enclosure == enclosure for heap in self.exchanges.values() for due in heap)
        return enclosure in self.pending and not waits

    def reserve(self, enclosure: int) -> None:
        """Keep an enclosure for other work until it is `done`; an exchange that waits comes off the list."""
        for heap in self.exchanges.values():
            heap[:] = [due for due in heap if due.enclosure != enclosure]
            heapq.heapify(heap)
        self.pending.add(enclosure)

    def waiting(self) -> list[ExchangeDue]:
        """Everything that is still wanted, most urgent first."""
        return sorted(due for heap in self.exchanges.values() for due in heap)
