"""What falls due in the screening model, by the same rules as in the simulation."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from simstore.exchange_rules import Gel
from simstore.scenario.values.plan import Plan
from simstore.scenario.values.settings import Settings
from simstore.screen.draws import FluidStore
from simstore.store.calendar import Turns
from simstore.units import MINUTES_PER_DAY, SECONDS_PER_DAY

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


class Due:
    """Which enclosures wait for a change or a reading, and the desk at which the plan's rule has them put there.

    Arrays are of shape (draws, enclosures).

    Parameters
    ----------
    store : FluidStore
        The draws.
    settings, plan : Settings, Plan
        With the plan's changes made.
    ceiling : ndarray, shape (enclosures,)
        Ceiling as a fraction.
    packed : ndarray of bool, shape (enclosures,)
        Enclosures that have a packet.
    """

    def __init__(
        self, store: FluidStore, settings: Settings, plan: Plan, ceiling: FloatArray, packed: NDArray[np.bool_]
    ) -> None:
        self.store, self.plan, self.ceiling, self.packed = store, plan, ceiling, packed
        rows = store.site.rows
        draws = store.draws
        self.waiting = np.zeros((draws, len(rows)), dtype=np.bool_)
        self.unread = np.zeros((draws, len(rows)), dtype=np.bool_)
        self.over = np.zeros((draws, len(rows)))
        self.inside = np.zeros((draws, len(rows)))
        self.due_min = np.full((draws, len(rows)), np.inf)
        self.now_min = 0
        self.rule = plan.follows()
        self.metals = np.array([row.enclosure.metal for row in rows])
        cadence_min = {metal: plan.cadence_min(metal) for metal in sorted(set(self.metals.tolist()))}
        self._turns = Turns(cadence_min)
        self._cadence_min = np.array([cadence_min[metal] for metal in self.metals.tolist()], dtype=np.float64)
        self._packets = np.array([row.packets for row in rows])
        places = sorted(range(len(rows)), key=lambda i: (rows[i].enclosure.place, rows[i].enclosure.id))
        self.place = np.empty(len(rows), dtype=np.intp)
        self.place[places] = np.arange(len(rows))
        self._rng = [np.random.default_rng([settings.seed, r]) for r in range(draws)]
        self._indicators = [settings.indicators.get(self._indicator(settings, i) or "") for i in range(len(rows))]
        self._tables: dict[float, FloatArray] = {}
        self._first(settings)

    def _indicator(self, settings: Settings, i: int) -> str | None:
        packet = self.store.site.rows[i].packet
        if self.plan.indicator is not None or packet is None:
            return self.plan.indicator
        return settings.sorbents[packet.sorbent].indicator

    def _prepare_forecast(self) -> None:
        """Make the tables in which `_spent_min` looks up."""
        site = self.store.site
        outlook, trigger = site.outlook, np.minimum(self.ceiling * self.plan.trigger_pct / 100.0, 0.99)
        wet = np.concatenate(([0.0], np.cumsum(outlook.room_pa))) * SECONDS_PER_DAY
        dry = np.concatenate(([0.0], np.cumsum(outlook.psat_pa))) * SECONDS_PER_DAY
        self._tables = {float(t): np.maximum.accumulate(wet - 0.5 * t * dry) for t in sorted(set(trigger.tolist()))}
        self._trigger = trigger
        names = site.curves.names
        self._full = np.array(
            [
                0.0 if row.packet is None else site.curves.reference_uptake(names.index(row.packet.sorbent), float(t))
                for row, t in zip(site.rows, trigger.tolist(), strict=True)
            ]
        )

    def _first(self, settings: Settings) -> None:
        """Set the first due dates from what the register says."""
        rows = self.store.site.rows
        weighed = np.array([row.enclosure.gel_water_pct is not None for row in rows])
        dry_pct = [0.0 if r.packet is None else settings.sorbents[r.packet.sorbent].supplied_water_pct for r in rows]
        every = np.arange(len(rows), dtype=np.intp)
        for r in range(self.store.draws):
            gel_kg = np.where(self.store.gel_kg[r] > 0, self.store.gel_kg[r], 1.0)
            water = np.where(weighed, self.store.water_kg[r] / gel_kg, np.array(dry_pct) / 100.0)
            age_min = self.store.age_days * MINUTES_PER_DAY
            due_min = self.rule.due_min(self._gel(r, every, age_min=age_min, weighed=weighed, water=water))
            self.due_min[r] = np.where(self.packed, due_min, np.inf)

    def _gel(
        self, r: int, which: IntArray, *, age_min: FloatArray, weighed: NDArray[np.bool_], water: FloatArray
    ) -> Gel:
        return Gel(
            now_min=float(self.now_min),
            cadence_min=self._cadence_min[which],
            packets=self._packets[which],
            age_min=age_min,
            weighed=weighed,
            water=water,
            spent_min=lambda from_min, q: self._spent_min(r, which, from_min, q),
        )

    def _spent_min(self, r: int, which: IntArray, from_min: FloatArray, q: FloatArray) -> FloatArray:
        if not self._tables:
            self._prepare_forecast()
        outlook, from_day = self.store.site.outlook, from_min / MINUTES_PER_DAY
        out = np.full(which.size, np.inf)
        water = self.store.gel_kg[r, which] * (self._full[which] - q)
        wall = self.store.believed_kg_per_s_pa[r, which]
        for trigger, table in self._tables.items():
            mine = (self._trigger[which] == trigger) & (wall > 0.0)
            if not mine.any():
                continue
            days = np.arange(len(table)) + outlook.first_day
            target = np.interp(from_day[mine], days, table) + water[mine] / wall[mine]
            found = np.searchsorted(table, target)
            inside = np.minimum(found, len(table) - 1)
            out[mine] = np.where(found < len(table), days[inside].astype(np.float64), np.inf)
            out[mine] = np.where(water[mine] <= 0.0, from_day[mine], out[mine])
        return out * MINUTES_PER_DAY

    def look(self, day: int) -> None:
        """Have done what the midnight of ``day`` brings, and those since the last look."""
        self.now_min = day * MINUTES_PER_DAY
        self.rule.midnight(self)

    def turns(self) -> Iterator[tuple[str, int]]:
        """Metals whose turn has come."""
        return self._turns.come(self.now_min)

    def list_due(self, until_min: int, metal: str | None = None) -> None:
        """Put on the list every change that falls due until then, of one metal or of all."""
        due = self.due_min <= until_min
        if metal is not None:
            due &= self.metals == metal
        self.waiting |= due
        self.over = np.where(due, self.due_min, self.over)
        self.due_min[due] = np.inf

    def begin_round(self, metal: str) -> None:
        """Have every enclosure of a metal read."""
        self.unread |= (self.metals == metal) & self.packed

    def anything(self, r: int) -> bool:
        """Whether a change waits in draw ``r``."""
        return bool(self.waiting[r].any())

    def most_urgent(self, r: int, among: NDArray[np.bool_]) -> IntArray:
        """Return waiting enclosures of draw ``r``: driest ceiling first, then longest due or furthest over."""
        which = np.flatnonzero(self.waiting[r] & among)
        return which[np.lexsort((which, self.over[r, which], self.ceiling[which]))]

    def changed(self, r: int, which: IntArray, day: int, q: float) -> None:
        """Take enclosures off the list after their change on ``day`` to gel with water ``q``."""
        self.waiting[r, which] = False
        self.now_min = day * MINUTES_PER_DAY
        fresh = np.zeros(which.size)
        gel = self._gel(r, which, age_min=fresh, weighed=fresh == 0.0, water=np.full(which.size, q))
        self.due_min[r, which] = self.rule.due_min(gel)

    def to_read(self, r: int) -> IntArray:
        """Return enclosures of draw ``r`` that a round has still to see, by their places."""
        which = np.flatnonzero(self.unread[r])
        return which[np.argsort(self.place[which])]

    def read(self, r: int, which: IntArray, q: FloatArray, day: int) -> None:
        """Read enclosures of draw ``r``; those that are called spent wait for a change."""
        self.unread[r, which] = False
        over_gel = self.store.over_gel(q, day)[r]
        luck = self._rng[r].random((len(self.packed), 2))
        for i in which.tolist():
            indicator = self._indicators[i]
            if indicator is None:
                continue
            rh_pct = 100.0 * (over_gel[i] if indicator.reads == "gel" else self.inside[r, i])
            turned = (rh_pct - indicator.starts_rh_pct) / (indicator.ends_rh_pct - indicator.starts_rh_pct)
            if (luck[i, 0] < turned) != (luck[i, 1] < indicator.misread_pct / 100.0):
                self.waiting[r, i] = True
                self.over[r, i] = -max(0.0, float(self.inside[r, i] - self.ceiling[i]))
