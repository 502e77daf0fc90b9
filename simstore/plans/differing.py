"""What distinguishes plans and variants before anything is simulated: the keys whose values differ."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from simstore.scenario.checking.finding import shown
from simstore.scenario.scenario import Scenario
from simstore.store.housed import housed

NOT_INPUTS = ("plans", "programmes", "default_plan")
"""Sections that say which plans there are, not what a plan works with."""
NOTHING = "-"
"""Stands where a plan has no such key."""


class Differing(NamedTuple):
    """One key with its value under each plan, as it would stand in the scenario."""

    key: str
    under: tuple[str, ...]


def differing_inputs(scenario: Scenario, plans: Sequence[str]) -> list[Differing]:
    """List the inputs that are not the same for all of ``plans``.

    Parameters
    ----------
    scenario : Scenario
        As the user gave it.
    plans : sequence of str
        Names of its plans.

    Returns
    -------
    list of Differing
        The plan's own keys first (``plan.cadence_weeks``), then the enclosures of each kind
        (``enclosures.clip_box``), then the scenario's keys that a plan's changes set.
    """
    resolved = [_inputs(scenario, plan) for plan in plans]
    keys = list(dict.fromkeys(key for inputs in resolved for key in inputs))
    rows = (Differing(key, tuple(inputs.get(key, NOTHING) for inputs in resolved)) for key in keys)
    return [row for row in rows if len(set(row.under)) > 1]


def _inputs(scenario: Scenario, plan: str) -> dict[str, str]:
    """All inputs of one plan by dotted key, written as in the scenario."""
    settings = scenario.under(plan).settings
    own = settings.plans[plan]
    inputs = dict(_flat("plan", own.model_dump(exclude={"label", "changes"})))
    kinds = Counter(row.kind_name for row in housed(settings, own, scenario.enclosures))
    inputs |= {f"enclosures.{kind}": str(count) for kind, count in sorted(kinds.items())}
    programme = settings.programmes.get(own.programme)
    if programme is not None:
        inputs["programme.rehouse_min"] = shown(programme.rehouse_min)
    for section, value in settings.model_dump(by_alias=True).items():
        if section not in NOT_INPUTS:
            inputs |= dict(_flat(section, value))
    return inputs


def _flat(key: str, value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, Mapping) and value:
        for name, part in value.items():
            yield from _flat(f"{key}.{name}", part)
    elif isinstance(value, list | tuple) and any(isinstance(part, Mapping) for part in value):
        for place, part in enumerate(value):
            yield from _flat(f"{key}.{place}", part)
    else:
        yield key, NOTHING if value is None else shown(value)
