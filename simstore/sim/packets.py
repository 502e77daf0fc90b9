"""Packets as things that go round: in use, spent, in the oven, dried, ready; and the two books that must close."""

from __future__ import annotations

import bisect
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field

from simstore.scenario.values.sorbents import Packet, Sorbent
from simstore.scenario.values.work import Stock
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_DAY


@dataclass(slots=True, eq=False)
class Parcel:
    """One packet of gel.

    Attributes
    ----------
    sort : str
        Name of the packet in the scenario.
    gel_kg, water_kg : float
        Dry gel, and water on it. [kg]
    left : float
        Share of the capacity that is left.
    cycles : int
        Dryings so far.
    since_min : int
        Clock when it came to where it is now. [min]
    """

    sort: str
    gel_kg: float
    water_kg: float
    left: float = 1.0
    cycles: int = 0
    since_min: int = 0


@dataclass(slots=True)
class Books:
    """Running totals of gel and water that entered or left the store's packets. [kg]."""

    gel_bought_kg: float = 0.0
    gel_lost_kg: float = 0.0
    water_bought_kg: float = 0.0
    water_driven_off_kg: float = 0.0
    water_regained_kg: float = 0.0
    water_lost_kg: float = 0.0
    absolute_kg: float = 0.0

    def regain(self, water_kg: float) -> None:
        """Book water that a packet took up outside an enclosure."""
        self.water_regained_kg += water_kg
        self.absolute_kg += abs(water_kg)


@dataclass(slots=True)
class Shelf:
    """All packets of one sort outside enclosures, and the loose gel for topping up.

    Each pile lies in the order in which its packets came to it.
    """

    packet: Packet
    sorbent: Sorbent
    stock: Stock
    ready: deque[Parcel] = field(default_factory=deque)
    spent: deque[Parcel] = field(default_factory=deque)
    dried: deque[Parcel] = field(default_factory=deque)
    in_oven: int = 0
    in_enclosures: int = 0
    on_order: int = 0
    discarded: int = 0
    replaced: int = 0
    loose_gel_kg: float = 0.0
    loose_water_kg: float = 0.0
    loose_left: float = 1.0
    lost_kg: float = 0.0

    def lay_dried(self, parcel: Parcel) -> None:
        """Lay a packet with the dried ones, in the order in which they are cool enough to handle."""
        bisect.insort(self.dried, parcel, key=lambda each: each.since_min)

    @property
    def outside(self) -> int:
        """Packets that are or will be usable and are not in an enclosure."""
        return len(self.ready) + len(self.spent) + len(self.dried) + self.in_oven


class Stockroom:
    """Shelves of all sorts of packet."""

    def __init__(
        self,
        packets: Mapping[str, Packet],
        sorbents: Mapping[str, Sorbent],
        stock: Mapping[str, Stock],
        spent_water: Mapping[str, float],
    ) -> None:
        self.books = Books()
        self.in_hand: list[Parcel] = []
        self.shelves: dict[str, Shelf] = {}
        for name, packet in packets.items():
            sorbent = sorbents[packet.sorbent]
            shelf = Shelf(packet, sorbent, stock.get(name, Stock()))
            dry = packet.gel_kg * sorbent.supplied_water_pct / 100.0
            shelf.ready.extend(Parcel(name, packet.gel_kg, dry) for _ in range(shelf.stock.ready))
            wet = packet.gel_kg * spent_water[name]
            shelf.spent.extend(Parcel(name, packet.gel_kg, wet, since_min=0) for _ in range(shelf.stock.spent))
            self.shelves[name] = shelf

    def take_ready(self, sort: str, count: int, now_min: int) -> list[Parcel]:
        """Take the ``count`` oldest ready packets; their slow gain of water since they were sealed is added."""
        shelf = self.shelves[sort]
        taken = [shelf.ready.popleft() for _ in range(count)]
        gain = shelf.stock.ready_gain_pct_per_year / 100.0
        for parcel in taken:
            years = (now_min - parcel.since_min) / MINUTES_PER_DAY / DAYS_PER_YEAR
            water_kg = parcel.gel_kg * gain * years
            parcel.water_kg += water_kg
            parcel.since_min = now_min
            self.books.regain(water_kg)
        shelf.in_enclosures += count
        self.in_hand += taken
        return taken

    def lay_down(self, parcels: list[Parcel]) -> None:
        """Say that packets are no longer in somebody's hands."""
        for parcel in parcels:
            self.in_hand.remove(parcel)

    def return_spent(self, parcels: list[Parcel], now_min: int) -> None:
        """Lay packets from an enclosure with the spent ones."""
        for parcel in parcels:
            parcel.since_min = now_min
            shelf = self.shelves[parcel.sort]
            shelf.spent.append(parcel)
            shelf.in_enclosures -= 1

    def prepare(self, parcel: Parcel, now_min: int) -> None:
        """Weigh a dried packet, make up its losses from loose gel and put it with the ready ones.

        Where there is not enough loose gel, the packet itself is emptied into it and one packet fewer goes round. Gel
        whose capacity has faded too far is thrown away.
        """
        shelf = self.shelves[parcel.sort]
        granules = shelf.sorbent.granule_pct / 100.0
        loss_pct = (1.0 - granules) * shelf.sorbent.loss_per_cycle_pct
        loss_pct += granules * shelf.sorbent.granule_loss_per_cycle_pct
        loss = loss_pct / 100.0 if parcel.cycles else 0.0
        lost_kg, lost_water_kg = parcel.gel_kg * loss, parcel.water_kg * loss
        parcel.gel_kg -= lost_kg
        parcel.water_kg -= lost_water_kg
        self._lose(shelf, lost_kg, lost_water_kg)
        if 100.0 * parcel.left < shelf.sorbent.discard_below_pct:
            self._lose(shelf, parcel.gel_kg, parcel.water_kg)
            shelf.discarded += 1
            return
        short_kg = shelf.packet.gel_kg - parcel.gel_kg
        if short_kg > shelf.loose_gel_kg:
            whole_kg = shelf.loose_gel_kg + parcel.gel_kg
            shelf.loose_left += (parcel.left - shelf.loose_left) * parcel.gel_kg / whole_kg
            shelf.loose_gel_kg = whole_kg
            shelf.loose_water_kg += parcel.water_kg
            shelf.discarded += 1
            return
        if short_kg > 0.0:
            share = short_kg / shelf.loose_gel_kg
            water_kg = shelf.loose_water_kg * share
            parcel.gel_kg += short_kg
            parcel.left += (shelf.loose_left - parcel.left) * short_kg / parcel.gel_kg
            parcel.water_kg += water_kg
            shelf.loose_gel_kg -= short_kg
            shelf.loose_water_kg -= water_kg
        if parcel.cycles and parcel.cycles % shelf.packet.life_cycles == 0:
            shelf.replaced += 1
        parcel.since_min = now_min
        shelf.ready.append(parcel)

    def _lose(self, shelf: Shelf, gel_kg: float, water_kg: float) -> None:
        """Book gel that leaves the store as waste, with the water on it."""
        shelf.lost_kg += gel_kg
        self.books.gel_lost_kg += gel_kg
        self.books.water_lost_kg += water_kg
        self.books.absolute_kg += water_kg

    def parcels_outside(self) -> list[Parcel]:
        """Every packet that lies on a shelf or is in somebody's hands."""
        shelved = [p for s in self.shelves.values() for pile in (s.ready, s.spent, s.dried) for p in pile]
        return shelved + self.in_hand

    def loose_kg(self) -> tuple[float, float]:
        """Loose gel and the water on it. [kg]."""
        shelves = self.shelves.values()
        return sum(s.loose_gel_kg for s in shelves), sum(s.loose_water_kg for s in shelves)
