"""Screens candidate plans with the fluid model: expected cost, expected held share, and what runs short."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from simstore.plans.candidates import Candidate, quickly_changed
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Plan, Scalar
from simstore.scenario.values.settings import Settings
from simstore.screen.calendar import Calendar, calendar_of
from simstore.screen.cost import fresh_water, screened_cost
from simstore.screen.draws import FluidStore, fluid_store
from simstore.screen.flow import Flow, flow_of

COLUMNS = 1_500
"""About so many enclosures in all draws together keep the screening both quick and steady."""
MOST_DRAWS = 8
MODEL_SD_SHARE = 0.15
"""Error of the screening model, as a share of the misses that a standard allows (an assumption; decides no verdict)."""
BELIEF_KEYS = ("leak_knowledge", "leak_quantile", "leak_error_sigma_ln")
MEANS = frozenset({"technicians", "ovens", "stock", "tasks", "prices"})
NORMAL = NormalDist()


@dataclass(frozen=True, slots=True, kw_only=True)
class Screened:
    """What the screening model expects of one candidate.

    Attributes
    ----------
    candidate : Candidate
    cost : float
        Annual-equivalent cost, in the scenario's currency.
    held_pct : dict of str to float
        Share of object-days held, by metal, mean over the draws. [%]
    margin_pct : float
        The least distance of a metal's held share from its standard, mean over the draws; below 0 if it is missed. [%]
    spread_pct : float
        Standard deviation of that distance between draws. [%]
    promise : float
        Expected share of years in which every metal class meets its standard.
    flow : Flow
        The whole outcome.
    """

    candidate: Candidate
    cost: float
    held_pct: dict[str, float]
    margin_pct: float
    spread_pct: float
    promise: float
    flow: Flow

    def corrected(self, *, cost_factor: float, margin_shift_pct: float, spread_pct: float | None = None) -> Screened:
        """Return it with what simulated plans have shown of the screening model's error."""
        spread = self.spread_pct if spread_pct is None else spread_pct
        return replace(
            self,
            cost=self.cost * cost_factor,
            margin_pct=self.margin_pct + margin_shift_pct,
            spread_pct=spread,
            promise=expected_promise(self.margin_pct + margin_shift_pct, spread),
        )


class Screening:
    """Screens candidates of one scenario; what several of them share is worked out once."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.draws = max(2, min(MOST_DRAWS, round(COLUMNS / max(1, len(scenario.enclosures)))))
        self._stores: dict[object, FluidStore] = {}
        self._calendars: dict[str, Calendar] = {}
        self._fresh: dict[object, float] = {}
        self._flows: dict[object, list[tuple[_Means, Flow]]] = {}
        self.runs = 0

    def screen(self, candidates: Sequence[Candidate]) -> list[Screened]:
        """Screen candidates, in their order."""
        # fewest means first, so that a plan that is short of nothing stands for those with more
        order = sorted(range(len(candidates)), key=lambda i: _means(self._settings(candidates[i])).order)
        found: dict[int, Screened] = {i: self.one(candidates[i]) for i in order}
        return [found[i] for i in range(len(candidates))]

    def one(self, candidate: Candidate) -> Screened:
        """Screen one candidate."""
        settings = self._settings(candidate)
        plan = settings.plans[candidate.base]
        changes = {**self.scenario.settings.plans[candidate.base].changes, **dict(candidate.changes)}
        physics, rule = _physics_key(candidate.base, plan, changes), _rule_key(plan, changes)
        store = self._stores.get(physics)
        if store is None:
            store = self._stores[physics] = fluid_store(
                candidate.scenario_of(self.scenario), candidate.base, self.draws
            )
        calendar = self._calendar(settings, store.days)
        ovens = (physics, str(settings.ovens))
        if ovens not in self._fresh:
            self._fresh[ovens] = fresh_water(store, settings)
        fresh_q = self._fresh[ovens]
        means, known = _means(settings), self._flows.setdefault((physics, rule), [])
        flow = next((flow for have, flow in known if have.serve_as_well_as(means, flow.short_of)), None)
        if flow is None:
            flow = flow_of(store, settings, plan, calendar, fresh_q)
            known.append((means, flow))
            self.runs += 1
        cost = screened_cost(replace(self.scenario, settings=settings), candidate.base, store, calendar, flow, fresh_q)
        return _screened(candidate, cost, flow, settings)

    def groups(self, candidates: Sequence[Candidate]) -> list[list[Candidate]]:
        """Candidates that can share a run of the model, together; a fixed division, however many work on it."""
        found: dict[object, list[Candidate]] = {}
        for candidate in candidates:
            plan = self._settings(candidate).plans[candidate.base]
            changes = {**self.scenario.settings.plans[candidate.base].changes, **dict(candidate.changes)}
            key = (_physics_key(candidate.base, plan, changes), _rule_key(plan, changes))
            found.setdefault(key, []).append(candidate)
        return list(found.values())

    def _settings(self, candidate: Candidate) -> Settings:
        settings = self.scenario.settings
        return quickly_changed(settings, {**settings.plans[candidate.base].changes, **dict(candidate.changes)})

    def _calendar(self, settings: Settings, days: int) -> Calendar:
        key = str(settings.technicians)
        if key not in self._calendars:
            self._calendars[key] = calendar_of(settings, days)
        return self._calendars[key]


@dataclass(frozen=True, slots=True)
class _Means:
    """Stock, ovens and people of a plan, for telling which of two plans has more."""

    ready: tuple[tuple[str, int], ...]
    ovens: tuple[tuple[str, int], ...]
    hours: float

    @property
    def order(self) -> tuple[float, ...]:
        return (*(float(n) for _, n in self.ready), *(float(n) for _, n in self.ovens), self.hours)

    def serve_as_well_as(self, other: _Means, short_of: frozenset[str]) -> bool:
        """Whether these means, with what they are short of, come to the same as those of ``other``."""
        if self.hours > other.hours or (self.hours < other.hours and "hours" in short_of):
            return False
        more_ovens = [a[1] < b[1] for a, b in zip(self.ovens, other.ovens, strict=True)]
        fewer = any(a[1] > b[1] for a, b in zip(self.ovens, other.ovens, strict=True))
        if fewer or (any(more_ovens) and "oven" in short_of):
            return False
        return all(
            a[1] == b[1] or (a[1] < b[1] and f"ready:{a[0]}" not in short_of)
            for a, b in zip(self.ready, other.ready, strict=True)
        )


def _means(settings: Settings) -> _Means:
    hours = sum(_weekly_min(person.sessions) for person in settings.technicians.values()) / 60.0
    return _Means(
        tuple((name, stock.ready) for name, stock in settings.stock.items()),
        tuple((name, oven.count) for name, oven in settings.ovens.items()),
        hours,
    )


def _weekly_min(sessions: Sequence[str]) -> int:
    from simstore.scenario.values.sessions import parse_session

    return sum(end - start for _, start, end in map(parse_session, sessions))


def _physics_key(base: str, plan: Plan, changes: dict[str, Scalar]) -> object:
    """Name what walls, gel, climate and beliefs follow from."""
    own = f"plans.{base}."
    other = tuple(
        (key, value)
        for key, value in sorted(changes.items())
        if not key.startswith(own) and key.split(".")[0] not in MEANS
    )
    believed = tuple(getattr(plan, key) for key in BELIEF_KEYS if plan.goes_by(key))
    return (plan.programme, believed, other)


def _rule_key(plan: Plan, changes: dict[str, Scalar]) -> object:
    """Name what the plan does, and all means but the counts that can be compared."""
    counted = (".ready", ".count")
    others = tuple(
        (key, value)
        for key, value in sorted(changes.items())
        if key.split(".")[0] in MEANS
        and not key.endswith(counted)
        and not (key.startswith("technicians.") and ".sessions." in key)
        and not key.startswith("prices.")
    )
    return (plan.rule, str(plan.cadence_weeks), plan.trigger_pct, plan.indicator, plan.without_packet, others)


def _screened(candidate: Candidate, cost: float, flow: Flow, settings: Settings) -> Screened:
    margins = np.min([held - settings.metals[metal].standard_pct for metal, held in flow.held_pct.items()], axis=0)
    allowed = min(100.0 - settings.metals[metal].standard_pct for metal in flow.held_pct)
    spread = math.hypot(float(margins.std(ddof=1)), MODEL_SD_SHARE * max(allowed, 0.1))
    margin = float(margins.mean())
    return Screened(
        candidate=candidate,
        cost=cost,
        held_pct={metal: float(held.mean()) for metal, held in flow.held_pct.items()},
        margin_pct=margin,
        spread_pct=spread,
        promise=expected_promise(margin, spread),
        flow=flow,
    )


def expected_promise(margin_pct: float, spread_pct: float) -> float:
    """Expect that share of years whose distance from the standard is at or above 0, if it were normal."""
    return NORMAL.cdf(margin_pct / spread_pct)
