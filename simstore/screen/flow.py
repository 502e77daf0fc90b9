"""The screening model: a year of a plan in steps of working days, without events; for the order of trial only.

People, ovens and packets are counted, not followed: at each working day wet packets go into free ovens, dried ones
are prepared, enclosures are changed in the order of urgency while ready packets and minutes last, and the rest of the
time goes into reading. What is left out: sick days, breakdowns, openings, mishaps, taking turns within a session.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.values.plan import Plan
from simstore.scenario.values.settings import Settings
from simstore.screen.calendar import Calendar
from simstore.screen.draws import FluidStore
from simstore.screen.due import Due
from simstore.screen.ovens import Baker

FloatArray = NDArray[np.float64]


@dataclass(slots=True, kw_only=True)
class Flow:
    """What one plan came to in the screening model; arrays of shape (draws,) unless said otherwise.

    Attributes
    ----------
    held_pct : dict of str to ndarray
        Object-days held, by metal. [%]
    exchanges, packets : ndarray
        Changes, and packets changed in them, by sort of packet: shape (draws, sorts).
    loads, loaded : ndarray
        Oven loads, and packets in them.
    worked_min : ndarray
        Minutes of work.
    water_in_load_kg : ndarray
        Water that came out of enclosures with the packets. [kg]
    oven_use, hours_use : float
        Share of the ovens' time and of the working time that is used, mean over the draws.
    least_ready : dict of str to float
        Fewest ready packets by sort, mean over the draws.
    short_of : frozenset of str
        What work waited for in any draw: "oven", "hours", "ready:SORT".
    waiting : float
        Changes that still wait at the end, mean over the draws.
    orders : tuple of (str, int)
        Sort and number of packets of each order: those that follow from an opening stock at its reorder point.
    """

    held_pct: dict[str, FloatArray]
    exchanges: FloatArray
    packets: FloatArray
    loads: FloatArray
    loaded: FloatArray
    worked_min: FloatArray
    water_out_kg: FloatArray
    oven_use: float = 0.0
    hours_use: float = 0.0
    least_ready: dict[str, float] = field(default_factory=dict)
    short_of: frozenset[str] = frozenset()
    waiting: float = 0.0
    orders: tuple[tuple[str, int], ...] = ()


def flow_of(store: FluidStore, settings: Settings, plan: Plan, calendar: Calendar, fresh_q: float) -> Flow:
    """Run the screening model.

    Parameters
    ----------
    store : FluidStore
        Draws of the store as it stands at the start.
    settings, plan : Settings, Plan
        With the plan's changes made; only rule, means and task times are read, the rest is in ``store``.
    calendar : Calendar
        Steps and working time.
    fresh_q : float
        Water on a ready packet. [kg/kg]
    """
    run = _Run(store, settings, plan, calendar, fresh_q)
    for k in range(len(calendar.minutes)):
        run.work(k)
        run.live(k)
    return run.outcome()


class _Run:
    """State of the screening model while it runs."""

    def __init__(self, store: FluidStore, settings: Settings, plan: Plan, calendar: Calendar, fresh_q: float) -> None:
        self.store, self.settings, self.calendar, self.fresh_q = store, settings, calendar, fresh_q
        rows = store.site.rows
        draws, count = store.gel_kg.shape
        self.q = store.water_kg / np.where(store.gel_kg > 0, store.gel_kg, 1.0)
        self.ceiling = np.array([settings.metals[row.enclosure.metal].ceiling_rh_pct for row in rows]) / 100.0
        self.sorts = list(settings.packets)
        self.sort = np.array([-1 if row.packet_name is None else self.sorts.index(row.packet_name) for row in rows])
        self.many = np.array([row.packets for row in rows], dtype=np.float64)
        tasks = settings.tasks
        own = [(row.kind.exchange_min, row.kind.inspect_min) for row in rows]
        self.exchange_min = np.ceil([tasks.exchange_min if e is None else e for e, _ in own])
        self.inspect_min = np.array([tasks.inspect_min if i is None else i for _, i in own])
        self.due = Due(store, settings, plan, self.ceiling, self.sort >= 0)
        self.held = np.zeros((draws, count))
        stock = [settings.stock.get(name) for name in self.sorts]
        self.ready = np.tile([0.0 if s is None else float(s.ready) for s in stock], (draws, 1))
        self.spent = np.tile([0.0 if s is None else float(s.spent) for s in stock], (draws, 1))
        self.dried = np.zeros_like(self.ready)
        self.arriving: list[tuple[float, int, float]] = []
        self.orders: list[tuple[str, int]] = []
        for s, (name, item) in enumerate(zip(self.sorts, stock, strict=True)):
            if item is not None and item.packets_ordered and item.ready + item.spent <= item.reorder_point:
                self.arriving.append((item.lead_days, s, float(item.packets_ordered)))
                self.orders.append((name, item.packets_ordered))
        self.least = self.ready.copy()
        self.ovens = [Baker(settings, name, draws, len(self.sorts)) for name in settings.ovens]
        self.minutes = np.zeros(draws)
        self.worked = np.zeros(draws)
        self.exchanges, self.packets = np.zeros_like(self.ready), np.zeros_like(self.ready)
        self.water_out = np.zeros(draws)
        self.loads, self.loaded = np.zeros(draws), np.zeros(draws)
        self.short_of: set[str] = set()

    def work(self, k: int) -> None:
        """Do what the first day of step ``k`` has time for, draw by draw."""
        calendar, tasks = self.calendar, self.settings.tasks
        day = int(calendar.days[k])
        self.due.look(day)
        if calendar.minutes[k] <= 0.0:
            return
        left = np.full(len(self.minutes), calendar.minutes[k])
        gear = math.ceil(tasks.gear_min) * float(calendar.sessions[k])
        for day_due, s, count in [each for each in self.arriving if each[0] <= day]:
            self.arriving.remove((day_due, s, count))
            self.dried[:, s] += count
            left -= math.ceil(tasks.receive_min)
        for r in range(len(left)):
            at_hand = left[r]
            full = any(oven.full[r].any() or oven.worth(self.spent[r]) for oven in self.ovens)
            idle = not (full or self.due.anything(r) or self.dried[r].any())
            budget = at_hand if idle else at_hand - gear
            budget = self._ovens(r, k, budget)
            budget = self._prepare(r, budget)
            budget = self._exchange(r, day, budget)
            budget = self._ovens(r, k, budget, at_once=True)
            budget = self._read(r, day, budget)
            self.worked[r] += at_hand - budget
        np.minimum(self.least, self.ready, out=self.least)

    def _blocked(self, r: int) -> bool:
        """Whether changes wait and there is no packet for the most urgent of any sort."""
        if not self.due.anything(r):
            return False
        for s in range(len(self.sorts)):
            order = self.due.most_urgent(r, self.sort == s)
            if order.size and self.ready[r, s] >= self.many[order[0]]:
                return False
        return True

    def _ovens(self, r: int, k: int, budget: float, *, at_once: bool = False) -> float:
        """Unload what has cooled and load what is worth it; ``at_once`` for loads begun as soon as they are."""
        tasks, day = self.settings.tasks, float(self.calendar.days[k])
        unload, load = math.ceil(tasks.unload_min), math.ceil(tasks.load_min)
        blocked = self._blocked(r)
        for oven in self.ovens:
            for unit in range(oven.count):
                if oven.full[r, unit] and oven.ready_day[r, unit] <= day and budget >= unload:
                    self.dried[r] += oven.content[r, unit]
                    oven.empty(r, unit, day)
                    budget -= unload * oven.batches[r, unit]
                if oven.full[r, unit] or not oven.worth(self.spent[r], anything=blocked):
                    continue
                if budget < load:
                    self.short_of.add("hours")
                    continue
                batches = max(1, int(self.calendar.working_days[k])) if oven.cycle_days < 1.0 else 1
                taken, batches = oven.fill(
                    r, unit, self.spent[r], day, batches=batches, least_only=at_once and not blocked
                )
                self.loads[r] += batches
                self.loaded[r] += taken
                budget -= load * batches
            if oven.worth(self.spent[r], anything=blocked) and oven.full[r].all():
                self.short_of.add("oven")
        return budget

    def _prepare(self, r: int, budget: float) -> float:
        each = self.settings.tasks.prepare_min
        for s in np.flatnonzero(self.dried[r]).tolist():
            count = min(self.dried[r, s], max(0.0, math.floor(budget / each)))
            if count < self.dried[r, s]:
                self.short_of.add("hours")
            self.dried[r, s] -= count
            self.ready[r, s] += count
            budget -= count * each
        return budget

    def _exchange(self, r: int, day: int, budget: float) -> float:
        for s in range(len(self.sorts)):
            order = self.due.most_urgent(r, self.sort == s)
            if not order.size:
                continue
            by_minutes = np.cumsum(self.exchange_min[order]) <= budget
            by_packets = np.cumsum(self.many[order]) <= self.ready[r, s]
            if not by_packets.all():
                self.short_of.add(f"ready:{self.sorts[s]}")
            if not by_minutes.all():
                self.short_of.add("hours")
            done = order[by_minutes & by_packets]
            count = float(self.many[done].sum())
            self.water_out[r] += float((self.q[r, done] * self.store.gel_kg[r, done]).sum())
            self.q[r, done] = self.fresh_q
            self.ready[r, s] -= count
            self.spent[r, s] += count
            self.exchanges[r, s] += done.size
            self.packets[r, s] += count
            budget -= float(self.exchange_min[done].sum())
            self.due.changed(r, done, day, self.fresh_q)
        return budget

    def _read(self, r: int, day: int, budget: float) -> float:
        order = self.due.to_read(r)
        if not order.size:
            return budget
        fits = np.cumsum(self.inspect_min[order]) <= budget
        if not fits.all():
            self.short_of.add("hours")
        seen = order[fits]
        if seen.size:
            self.due.read(r, seen, self.q, day)
        return budget - float(self.inspect_min[seen].sum())

    def live(self, k: int) -> None:
        """Let the days of step ``k`` pass."""
        first, last = int(self.calendar.days[k]), int(self.calendar.days[k + 1])
        if last <= first:
            return
        self.q, begin, end = self.store.step(self.q, first_day=first, last_day=last)
        rise = end - begin
        with np.errstate(divide="ignore", invalid="ignore"):
            crossing = (self.ceiling - begin) / rise
        under = np.where(rise > 0.0, np.clip(crossing, 0.0, 1.0), 1.0 - np.clip(crossing, 0.0, 1.0))
        under = np.where(rise == 0.0, (begin <= self.ceiling).astype(np.float64), under)
        self.held += under * (last - first)
        self.due.inside = end

    def outcome(self) -> Flow:
        """Sum up."""
        rows, days = self.store.site.rows, self.store.days
        objects = np.array([row.enclosure.objects for row in rows], dtype=np.float64)
        metals = np.array([row.enclosure.metal for row in rows])
        held = {
            str(metal): 100.0 * (self.held[:, metals == metal] @ objects[metals == metal])
            / (objects[metals == metal].sum() * days)
            for metal in sorted(set(metals.tolist()))
        }  # fmt: skip
        units = sum(oven.count for oven in self.ovens)
        busy = sum(float(oven.busy_until(days).mean()) for oven in self.ovens)
        whole = float(self.calendar.minutes.sum())
        return Flow(
            held_pct=held,
            exchanges=self.exchanges,
            packets=self.packets,
            loads=self.loads,
            loaded=self.loaded,
            worked_min=self.worked,
            water_out_kg=self.water_out,
            oven_use=busy / (units * days) if units else 0.0,
            hours_use=float(self.worked.mean()) / whole if whole else 0.0,
            least_ready={n: float(self.least[:, s].mean()) for s, n in enumerate(self.sorts)},
            short_of=frozenset(self.short_of),
            orders=tuple(self.orders),
            waiting=float(self.due.waiting.sum(axis=1).mean()),
        )
