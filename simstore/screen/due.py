"""What falls due in the screening model: by calendar, by reading, by forecast."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.values.plan import Plan
from simstore.scenario.values.settings import Settings
from simstore.screen.draws import FluidStore
from simstore.units import DAYS_PER_WEEK, SECONDS_PER_DAY

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


class Due:
    """Which enclosures wait for a change or a reading; arrays of shape (draws, enclosures).

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
        self.due_day = np.full((draws, len(rows)), np.inf)
        self.metals = np.array([row.enclosure.metal for row in rows])
        self.cadence = {metal: _weeks(plan, metal) * DAYS_PER_WEEK for metal in sorted(set(self.metals.tolist()))}
        self.every = np.array([self.cadence[metal] for metal in self.metals.tolist()])
        self.next_start = dict.fromkeys(self.cadence, 0.0)
        places = sorted(range(len(rows)), key=lambda i: (rows[i].enclosure.place, rows[i].enclosure.id))
        self.place = np.empty(len(rows), dtype=np.intp)
        self.place[places] = np.arange(len(rows))
        self._rng = [np.random.default_rng([settings.seed, r]) for r in range(draws)]
        self._indicators = [settings.indicators.get(self._indicator(settings, i) or "") for i in range(len(rows))]
        if plan.rule == "forecast":
            self._prepare_forecast(settings)
        self._first(settings)

    def _indicator(self, settings: Settings, i: int) -> str | None:
        packet = self.store.site.rows[i].packet
        if self.plan.indicator is not None or packet is None:
            return self.plan.indicator
        return settings.sorbents[packet.sorbent].indicator

    def _prepare_forecast(self, settings: Settings) -> None:
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
        del settings

    def _first(self, settings: Settings) -> None:
        """Set the first due days from what the register says."""
        age, rows = self.store.age_days, self.store.site.rows
        known = ~np.isnan(age)
        since = np.nan_to_num(age)
        if self.plan.rule == "calendar":
            first = np.where(known, np.maximum(0.0, self.every - since), 0.0)
            self.due_day[:] = np.where(self.packed, first, np.inf)
        elif self.plan.rule == "forecast":
            weighed = np.array([row.enclosure.gel_water_pct is not None for row in rows])
            dry = np.array(
                [0.0 if r.packet is None else settings.sorbents[r.packet.sorbent].supplied_water_pct for r in rows]
            )
            for r in range(self.store.draws):
                gel = np.where(self.store.gel_kg[r] > 0, self.store.gel_kg[r], 1.0)
                q = np.where(weighed, self.store.water_kg[r] / gel, dry / 100.0)
                every = np.arange(len(rows), dtype=np.intp)
                day = self._forecast(r, every, np.where(weighed, 0.0, -since), q)
                self.due_day[r] = np.where(self.packed, np.where(known | weighed, day, 0.0), np.inf)

    def _forecast(self, r: int, which: IntArray, from_day: FloatArray, q: FloatArray) -> FloatArray:
        outlook = self.store.site.outlook
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
        return out

    def look(self, day: int) -> None:
        """Put on the lists what is due by ``day``, and start the rounds whose time has come."""
        if self.plan.rule == "calendar":
            self._release(self.due_day <= day)
            return
        for metal, cadence in self.cadence.items():
            while self.next_start[metal] <= day:
                self.next_start[metal] += max(cadence, 1.0)
                mine = self.metals == metal
                if self.plan.rule == "forecast":
                    self._release((self.due_day <= self.next_start[metal]) & mine)
                else:
                    self.unread |= mine & self.packed

    def _release(self, due: NDArray[np.bool_]) -> None:
        self.waiting |= due
        self.over = np.where(due, self.due_day, self.over)
        self.due_day[due] = np.inf

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
        if self.plan.rule == "calendar":
            self.due_day[r, which] = day + self.every[which]
        elif self.plan.rule == "forecast":
            self.due_day[r, which] = self._forecast(r, which, np.full(which.size, float(day)), np.full(which.size, q))

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


def _weeks(plan: Plan, metal: str) -> float:
    weeks = plan.cadence_weeks
    return weeks.get(metal, max(weeks.values())) if isinstance(weeks, dict) else weeks
