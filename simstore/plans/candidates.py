"""Candidate plans of a search: every base plan with every combination of the values that concern it."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pydantic import BaseModel

from simstore.errors import SimstoreError
from simstore.plans.ladder import cadence_ladder, more_hours
from simstore.scenario.checking.keys import split
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Scalar
from simstore.scenario.values.search_space import Search
from simstore.scenario.values.settings import Settings

OF_PLANS = "plans."


@dataclass(frozen=True)
class Candidate:
    """One plan of a search: a base plan of the scenario and what is changed.

    Attributes
    ----------
    base : str
        Name of the base plan.
    changes : tuple of (str, scalar)
        Dotted keys with their values, in the order of the keys; only those that differ from the scenario.
    """

    base: str
    changes: tuple[tuple[str, Scalar], ...] = ()

    @cached_property
    def name(self) -> str:
        """Say the plan in one line: the base plan, then what is changed."""
        own = f"{OF_PLANS}{self.base}."
        said = (f"{key.removeprefix(own)} = {said_value(value)}" for key, value in self.changes)
        return "; ".join([self.base, *said])

    @property
    def plan(self) -> str:
        """Plan of the derived scenario."""
        return self.base

    def changed(self, more: Mapping[str, Scalar]) -> Candidate:
        """Return the candidate with ``more`` keys set."""
        return Candidate(self.base, tuple(sorted({**dict(self.changes), **more}.items())))

    def scenario_of(self, scenario: Scenario) -> Scenario:
        """Make the changes, and check the whole again.

        Raises
        ------
        SimstoreError
            If the changes do not fit together.
        """
        return scenario.under(self.base, dict(self.changes), what=f"plan '{self.name}'")


def said_value(value: Scalar) -> str:
    """Write a value the way the terminal says it."""
    return f"{value:g}" if isinstance(value, float) else str(value)


def candidates_of(scenario: Scenario) -> list[Candidate]:
    """All candidate plans of a scenario's search space, each once, in a fixed order.

    Raises
    ------
    SimstoreError
        If the space is too large, or a value does not fit the scenario.
    """
    settings = scenario.settings
    search = settings.search or derived_search(settings)
    bases = search.plans or tuple(settings.plans)
    spaces = {base: {key: values for key, values in search.vary.items() if _concerns(key, base)} for base in bases}
    size = sum(_size(space) for space in spaces.values())
    if size > search.most:
        msg = f"the search space has {size} plans, more than {search.most}; leave values out, or raise most in [search]"
        raise SimstoreError(msg)
    _check_values(scenario, spaces)
    found: dict[Candidate, None] = {}
    for base, space in spaces.items():
        for values in itertools.product(*space.values()):
            changes = dict(zip(space, values, strict=True))
            differing = {k: v for k, v in changes.items() if value_at(settings, k) != v or _is_dict(settings, k)}
            found[Candidate(base, tuple(sorted(differing.items())))] = None
    return list(found)


def derived_search(settings: Settings) -> Search:
    """Search space where the scenario gives none: the plans that it has, and one step either way of each means.

    Cadence and trigger of each plan, ready stock, one more oven, two more hours a week, and the programmes.
    """
    vary: dict[str, tuple[Scalar, ...]] = {}
    for name, plan in settings.plans.items():
        vary.update(cadence_ladder(name, plan))
        if plan.goes_by("trigger_pct"):
            triggers = (plan.trigger_pct - 15.0, plan.trigger_pct, plan.trigger_pct + 15.0)
            vary[f"{OF_PLANS}{name}.trigger_pct"] = tuple(t for t in triggers if 0.0 < t <= 150.0)
        if settings.programmes:
            vary[f"{OF_PLANS}{name}.programme"] = tuple(dict.fromkeys((plan.programme, *settings.programmes)))
    for name, stock in settings.stock.items():
        vary[f"stock.{name}.ready"] = (stock.ready, stock.ready + 25, stock.ready + 50)
    for name, oven in list(settings.ovens.items())[:1]:
        vary[f"ovens.{name}.count"] = (oven.count, oven.count + 1)
    longer = more_hours(settings, 2.0)
    if longer is not None:
        key, now, then = longer
        vary[key] = (now, then)
    return Search(vary=vary)


def value_at(settings: Settings, key: str) -> Any:
    """Return what stands at a dotted key; None where nothing does."""
    here: Any = settings
    for part in split(key):
        if isinstance(here, BaseModel):
            here = getattr(here, str(part), None)
        elif isinstance(here, dict):
            here = here.get(part)
        elif isinstance(here, tuple) and isinstance(part, int) and part < len(here):
            here = here[part]
        else:
            return None
    return here


def _is_dict(settings: Settings, key: str) -> bool:
    """Whether one number is to take the place of a table by metal."""
    return isinstance(value_at(settings, key), dict)


def _concerns(key: str, base: str) -> bool:
    return not key.startswith(OF_PLANS) or key.startswith(f"{OF_PLANS}{base}.")


def _size(space: Mapping[str, tuple[Scalar, ...]]) -> int:
    size = 1
    for values in space.values():
        size *= len(dict.fromkeys(values))
    return size


def _check_values(scenario: Scenario, spaces: Mapping[str, Mapping[str, tuple[Scalar, ...]]]) -> None:
    """Check each value by itself, so that a mistake is named before anything runs."""
    seen: set[tuple[str, Scalar]] = set()
    problems = []
    for space in spaces.values():
        for key, values in space.items():
            for value in values:
                if (key, value) in seen:
                    continue
                seen.add((key, value))
                try:
                    scenario.with_changes({key: value}, what=f"search: {key} = {said_value(value)}")
                except SimstoreError as error:
                    problems.append(str(error))
    if problems:
        raise SimstoreError("\n".join(problems))
