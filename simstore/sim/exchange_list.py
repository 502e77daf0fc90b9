"""The exchanges that are wanted, most urgent first."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field


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
    reason : str
        Why it is due.
    minutes : float or None
        What it takes, where that is not what an exchange in this kind of enclosure takes. [min]
    """

    ceiling_pct: float
    minus_over_pct: float
    due_min: int
    enclosure: int
    reason: str = field(compare=False)
    minutes: float | None = field(default=None, compare=False)


class ExchangeList:
    """Exchanges that wait, by sort of packet; each enclosure is on the list, or in hand, once."""

    def __init__(self) -> None:
        self._waiting: dict[str, list[ExchangeDue]] = {}
        self._pending: set[int] = set()

    def __bool__(self) -> bool:
        """Whether any exchange waits."""
        return any(self._waiting.values())

    def __iter__(self) -> Iterator[ExchangeDue]:
        """Everything that waits, most urgent first."""
        return iter(sorted(due for heap in self._waiting.values() for due in heap))

    def heads(self) -> Iterator[tuple[str, ExchangeDue]]:
        """Yield the most urgent exchange of each sort of packet."""
        return ((sort, heap[0]) for sort, heap in self._waiting.items() if heap)

    def most_urgent(self, heads: Iterable[tuple[str, ExchangeDue]]) -> tuple[str, ExchangeDue] | None:
        """Return the most urgent one of ``heads``; None if there is none."""
        return min(heads, key=lambda head: (head[1], head[0]), default=None)

    def want(self, sort: str, due: ExchangeDue) -> None:
        """Put an exchange on the list unless that enclosure is on it, or in hand."""
        if due.enclosure not in self._pending:
            self._pending.add(due.enclosure)
            self.put_back(sort, due)

    def put_back(self, sort: str, due: ExchangeDue) -> None:
        """Put an exchange back that could not be finished."""
        heapq.heappush(self._waiting.setdefault(sort, []), due)

    def take(self, sort: str) -> ExchangeDue:
        """Take the most urgent exchange of packet ``sort`` in hand."""
        return heapq.heappop(self._waiting[sort])

    def done(self, enclosure: int) -> None:
        """Forget an exchange that has been made."""
        self._pending.discard(enclosure)

    def in_hand(self, enclosure: int) -> bool:
        """Whether somebody is making the exchange of an enclosure now, or keeps it for other work."""
        waits = any(due.enclosure == enclosure for heap in self._waiting.values() for due in heap)
        return enclosure in self._pending and not waits

    def reserve(self, enclosure: int) -> None:
        """Keep an enclosure for other work until it is `done`; an exchange that waits comes off the list."""
        for heap in self._waiting.values():
            heap[:] = [due for due in heap if due.enclosure != enclosure]
            heapq.heapify(heap)
        self._pending.add(enclosure)
