"""Technicians: they come for their sessions and take the most urgent work that still fits.

The order is: unload an oven, load one, take in a delivery, open an enclosure for a reader, replace one that has failed,
exchange packets (driest metal first), prepare packets if exchanges wait for them, read enclosures on a round, prepare
packets, move objects to another kind of enclosure.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field

import simpy

from simstore.scenario.values.events import Rehousing
from simstore.scenario.values.work import Technician
from simstore.sim.board import ExchangeDue
from simstore.sim.due import Reader
from simstore.sim.handwork import exchange, rehouse, replace_wall, show, take_out
from simstore.sim.orders import receive
from simstore.sim.ovens import OvenUnit
from simstore.sim.packets import Shelf
from simstore.sim.record import StaffTime
from simstore.sim.site import Site
from simstore.store.calendar import Session
from simstore.store.housed import Housed, house
from simstore.store.windows import holding, pace
from simstore.units import MINUTES_PER_DAY, MINUTES_PER_HOUR

LEG = 20
"""Enclosures that are read before somebody looks again what is most urgent."""
ROUNDING = 1e-9
MOST_TURNS_A_MINUTE = 10_000
"""Nobody looks for work so often within a minute: the run would never end, and says so instead."""
HANDLING = frozenset({"exchange", "load", "unload", "prepare", "rehouse", "replace"})
Work = Generator[simpy.Event, object, None]


@dataclass(slots=True)
class Job:
    """Something that fits into what is left of a session."""

    task: str
    minutes: int
    work: Work


@dataclass(slots=True)
class Worker:
    """One technician at work."""

    site: Site
    name: str
    spec: Technician
    sessions: list[Session]
    ovens: list[OvenUnit]
    reader: Reader
    spent_min: Counter[str] = field(default_factory=Counter)
    handled_min: Counter[int] = field(default_factory=Counter)
    ends_min: int = 0
    geared: bool = False

    def year(self) -> Work:
        """Come for every session and work through it."""
        for session in self.sessions:
            yield self.site.env.timeout(session.start_min - self.site.now_min)
            self.spent_min = Counter()
            self.geared = False
            self.ends_min = session.end_min
            yield from self._session()
            self._write_down(session)

    def _session(self) -> Work:
        env = self.site.env
        turn_min, turns = self.site.now_min, 0
        while self.site.now_min < self.ends_min:
            turns = turns + 1 if self.site.now_min == turn_min else 0
            turn_min = self.site.now_min
            if turns > MOST_TURNS_A_MINUTE:
                msg = f"{self.name} does not get on at minute {turn_min} of the run"
                raise RuntimeError(msg)
            job = next(self._jobs(), None)
            if job is None:
                wake = min([self.ends_min, *self._cooling_until()])
                yield self.site.board.news | env.timeout(wake - self.site.now_min)
                continue
            minutes = job.minutes
            if job.task in HANDLING:
                if not self.geared:
                    self.geared = True
                    gear = math.ceil(self.site.settings.tasks.gear_min)
                    self.spent_min["gear"] += gear
                    if gear:
                        yield env.timeout(gear)
                        continue  # somebody else may have taken that work meanwhile
                self.handled_min[self.site.now_min // MINUTES_PER_DAY] += minutes
            self.spent_min[job.task] += minutes
            yield from job.work
            self.site.board.tell()

    def _write_down(self, session: Session) -> None:
        idle = session.end_min - session.start_min - self.spent_min.total()
        self.spent_min["idle"] = idle
        rows = self.site.record.staff
        rows += [StaffTime(session.start_min, self.name, task, m) for task, m in sorted(self.spent_min.items())]

    def _left_min(self, task: str) -> int:
        """Minutes that may still go into a task in this session."""
        left = self.ends_min - self.site.now_min
        if task in HANDLING:
            today = self.handled_min[self.site.now_min // MINUTES_PER_DAY]
            limit = round(self.spec.handling_limit_h_per_day * MINUTES_PER_HOUR)
            gear = 0 if self.geared else math.ceil(self.site.settings.tasks.gear_min)
            left = min(left - gear, limit - today)
        return left

    def _jobs(self) -> Iterator[Job]:
        """Everything that could be done now, most urgent first; only the first is ever asked for."""
        yield from self._unload()
        yield from self._load()
        yield from self._receive()
        yield from self._visit()
        yield from self._replace()
        yield from self._exchange()
        blocked = any(self.site.board.exchanges.values())
        if blocked:
            yield from self._prepare()
        yield from self._inspect()
        yield from self._prepare()
        yield from self._move()

    def _pace(self, minutes: float) -> int:
        """Whole minutes that a task takes this person."""
        return math.ceil(minutes / self._speed() - ROUNDING)

    def _speed(self) -> float:
        return pace(self.spec, self.site.settings.start, self.site.now_min)

    def _unload(self) -> Iterator[Job]:
        minutes = self._pace(self.site.settings.tasks.unload_min)
        for oven in self.ovens:
            if oven.state == "waiting" and minutes <= self._left_min("unload"):
                yield Job("unload", minutes, self._do_unload(oven, minutes))

    def _do_unload(self, oven: OvenUnit, minutes: int) -> Work:
        oven.state = "in use"
        yield self.site.env.timeout(minutes)
        oven.empty()

    def _load(self) -> Iterator[Job]:
        minutes = self._pace(self.site.settings.tasks.load_min)
        if minutes > self._left_min("load"):
            return
        worth: dict[int, bool] = {}
        for oven in self.ovens:
            if not oven.free:
                continue
            if id(oven.spec) not in worth:
                worth[id(oven.spec)] = self._attended(oven, minutes) and self._worth_loading(oven)
            if worth[id(oven.spec)]:
                yield Job("load", minutes, self._do_load(oven, minutes))

    def _worth_loading(self, oven: OvenUnit) -> bool:
        """Whether enough lies spent for this sort of oven; anything will do where exchanges wait for packets."""
        parcels, share = oven.choose()
        if share * 100.0 >= oven.spec.least_load_pct:
            return bool(parcels)
        return bool(parcels) and any(self.site.board.exchanges.values()) and not self._startable()

    def _attended(self, oven: OvenUnit, minutes: int) -> bool:
        """Whether somebody will be there while it is hot, if it must not run alone."""
        if not oven.spec.attended:
            return True
        gear = 0 if self.geared else math.ceil(self.site.settings.tasks.gear_min)
        now = self.site.now_min
        there = self.site.attendance or ((now, self.ends_min),)
        return now + gear + minutes + oven.running_min <= (holding(there, now) or 0)

    def _do_load(self, oven: OvenUnit, minutes: int) -> Work:
        parcels, _ = oven.choose()
        oven.fill(self.name, parcels)
        yield self.site.env.timeout(minutes)
        self.site.env.process(oven.bake())

    def _receive(self) -> Iterator[Job]:
        minutes = self._pace(self.site.settings.tasks.receive_min)
        if self.site.board.deliveries and minutes <= self._left_min("receive"):
            yield Job("receive", minutes, self._do_receive(minutes))

    def _do_receive(self, minutes: int) -> Work:
        sort, count = self.site.board.deliveries.popleft()
        yield self.site.env.timeout(minutes)
        receive(self.site, sort, count)

    def _visit(self) -> Iterator[Job]:
        visits = self.site.board.visits
        if visits and self._pace(visits[0][1]) <= self._left_min("visit"):
            yield Job("visit", self._pace(visits[0][1]), self._do_visit(self._pace(visits[0][1])))

    def _do_visit(self, minutes: int) -> Work:
        enclosure, _, _ = self.site.board.visits.popleft()
        yield self.site.env.timeout(minutes)
        show(self.site, enclosure)
        self._notice(enclosure)

    def _replace(self) -> Iterator[Job]:
        waiting = self.site.board.replacements
        while waiting and waiting[0] not in self.site.failed:
            waiting.popleft()  # mended meanwhile
        if waiting:
            minutes = self._pace(self.site.rows[waiting[0]].kind.replace_min)
            if minutes <= self._left_min("replace"):
                yield Job("replace", minutes, self._do_replace(minutes))

    def _do_replace(self, minutes: int) -> Work:
        enclosure = self.site.board.replacements.popleft()
        yield self.site.env.timeout(minutes)
        if enclosure in self.site.failed:
            replace_wall(self.site, enclosure)

    def _notice(self, enclosure: int) -> None:
        """See that a wall has failed."""
        if enclosure in self.site.failed and enclosure not in self.site.board.replacements:
            self.site.board.replacements.append(enclosure)

    def _move(self) -> Iterator[Job]:
        moves = self.site.board.moves
        while moves and self.site.rows[moves[0][0]].kind_name not in moves[0][1].replace:
            moves.popleft()  # another campaign was quicker
        if not moves:
            return
        enclosure, campaign, _ = moves[0]
        new = self._moved(enclosure, campaign)
        sort = new.packet_name
        if sort is not None and len(self.site.stockroom.shelves[sort].ready) < new.packets:
            return
        minutes = self._pace(campaign.rehouse_min)
        if minutes <= self._left_min("rehouse") and not self.site.board.in_hand(enclosure):
            yield Job("rehouse", minutes, self._do_move(minutes))

    def _moved(self, enclosure: int, campaign: Rehousing) -> Housed:
        row = self.site.rows[enclosure]
        return house(self.site.settings, row.enclosure, campaign.replace[row.kind_name])

    def _do_move(self, minutes: int) -> Work:
        enclosure, campaign, _ = self.site.board.moves.popleft()
        self.site.board.reserve(enclosure)
        new = self._moved(enclosure, campaign)
        stockroom = self.site.stockroom
        fresh = stockroom.take_ready(new.packet_name, new.packets, self.site.now_min) if new.packet_name else []
        yield self.site.env.timeout(minutes)
        stockroom.lay_down(fresh)
        rehouse(self.site, enclosure, new, self.name, fresh)

    def _startable(self) -> list[str]:
        """Sorts of packet of which there are enough ready for the most urgent exchange."""
        shelves = self.site.stockroom.shelves
        return [
            sort
            for sort, heap in self.site.board.exchanges.items()
            if heap and len(shelves[sort].ready) >= self.site.rows[heap[0].enclosure].packets
        ]

    def _exchange_min(self, due: ExchangeDue) -> int:
        own = self.site.rows[due.enclosure].kind.exchange_min
        if due.reason == "new finds":
            own = self.site.pack_min[due.enclosure]
        return self._pace(self.site.settings.tasks.exchange_min if own is None else own)

    def _exchange(self) -> Iterator[Job]:
        board = self.site.board
        found = board.most_urgent(self._startable())
        if found is not None:
            sort, due = found
            minutes = self._exchange_min(due)
            if minutes <= self._left_min("exchange"):
                yield Job("exchange", minutes, self._do_exchange(sort, minutes))
            return
        if self.site.plan.without_packet == "go_without":
            found = board.most_urgent(
                [s for s, h in board.exchanges.items() if h and self.site.contents[h[0].enclosure]]
            )
            if found is not None and self._exchange_min(found[1]) <= self._left_min("exchange"):
                yield Job("exchange", self._exchange_min(found[1]), self._do_take_out(*found))

    def _do_exchange(self, sort: str, minutes: int) -> Work:
        due = self.site.board.take(sort)
        packets = self.site.rows[due.enclosure].packets
        fresh = self.site.stockroom.take_ready(sort, packets, self.site.now_min)
        yield self.site.env.timeout(minutes)
        self.site.stockroom.lay_down(fresh)
        exchange(self.site, due, self.name, fresh)
        self._notice(due.enclosure)

    def _do_take_out(self, sort: str, due: ExchangeDue) -> Work:
        self.site.board.take(sort)
        yield self.site.env.timeout(self._exchange_min(due))
        take_out(self.site, due.enclosure)
        self.site.board.put_back(sort, due)

    def _dried(self) -> Iterator[Shelf]:
        for shelf in self.site.stockroom.shelves.values():
            if shelf.dried and shelf.dried[0].since_min <= self.site.now_min:
                yield shelf

    def _cooling_until(self) -> list[int]:
        """Say when, still to come, packets will have cooled."""
        shelves = self.site.stockroom.shelves.values()
        return [s.dried[0].since_min for s in shelves if s.dried and s.dried[0].since_min > self.site.now_min]

    def _prepare(self) -> Iterator[Job]:
        each = self.site.settings.tasks.prepare_min
        for shelf in self._dried():
            cool = sum(parcel.since_min <= self.site.now_min for parcel in shelf.dried)
            count = min(cool, LEG, int(self._left_min("prepare") * self._speed() / each))
            if count > 0:
                minutes = self._pace(count * each)
                if minutes <= self._left_min("prepare"):
                    yield Job("prepare", minutes, self._do_prepare(shelf, count, minutes))

    def _do_prepare(self, shelf: Shelf, count: int, minutes: int) -> Work:
        parcels = [shelf.dried.popleft() for _ in range(count)]
        self.site.stockroom.in_hand += parcels
        shelf.in_oven += count
        yield self.site.env.timeout(minutes)
        shelf.in_oven -= count
        self.site.stockroom.lay_down(parcels)
        for parcel in parcels:
            self.site.stockroom.prepare(parcel, self.site.now_min)

    def _inspect(self) -> Iterator[Job]:
        queue = self.site.board.inspections
        general = self.site.settings.tasks.inspect_min
        left = self._left_min("inspect")
        if not queue:
            return
        speed = self._speed()
        total = 0.0
        count = 0
        for i, _ in queue:
            own = self.site.rows[i].kind.inspect_min
            total += (general if own is None else own) / speed
            needed = math.ceil(total - ROUNDING)
            if count == LEG or needed > left:
                break
            minutes = needed
            count += 1
        if count:
            yield Job("inspect", minutes, self._do_inspect(count, minutes))

    def _do_inspect(self, count: int, minutes: int) -> Work:
        legs = [self.site.board.inspections.popleft() for _ in range(count)]
        if minutes:
            yield self.site.env.timeout(minutes)
        self.site.look()
        enclosures = [i for i, _ in legs]
        inside = self.site.inside
        for (i, tour), called in zip(legs, self.reader.read(enclosures), strict=True):
            over_pct = float(inside.now_pct[i] - inside.ceiling_pct[i])
            self._notice(i)
            tour.technician = tour.technician or self.name
            tour.inspected += 1
            tour.called += called
            tour.truly_over += over_pct > 0.0
            if tour.inspected == tour.due_count:
                tour.ended_min = self.site.now_min
            if called:
                self.site.want_exchange(i, reason="reading", over_pct=over_pct)
