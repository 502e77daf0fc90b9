"""The plan that a search found, as a plan of the scenario, so that its year can be run and reported."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from simstore.errors import SimstoreError
from simstore.plans.candidates import OF_PLANS, said_value
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Scalar
from simstore.scenario.values.settings import Settings
from simstore.study.sweep.grid import said_of

SEARCH_FILE: Final = "find.json"
FOUND: Final = "found"
"""Name of the plan in runs."""
CHOSEN: Final = "chosen"
"""Name of the plan in the folder of the search itself."""
FOUND_FILE: Final = "found.json"
"""File of a run's folder that says which plan that is."""
UNUSED: Final = "first_unused_replication"
"""Key of both files: number of the first replication that the search has not used."""


def chosen_of(folder: Path) -> dict[str, Any]:
    """Read which plan a search has chosen: ``base``, ``changes``, and ``first_unused_replication``.

    The search has picked the plan by how it did in its own runs: what is shown of it starts after them.

    Raises
    ------
    SimstoreError
        If ``folder`` is not that of a search, or the search found no plan that holds.
    """
    try:
        return chosen_in(json.loads((folder / SEARCH_FILE).read_text(encoding="utf-8")), str(folder))
    except (OSError, ValueError, KeyError, TypeError) as error:
        msg = f"{folder}: is not the folder of a search (no {SEARCH_FILE} that can be read); name the --out of find"
        raise SimstoreError(msg) from error


def chosen_in(document: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Take the plan that a search has chosen from its document; ``where`` heads the message if there is none.

    Raises
    ------
    SimstoreError
        If the search found no plan that holds.
    KeyError
        If it is not the document of a search.
    """
    chosen = document["chosen"]
    if chosen is None:
        msg = f"{where}: the search found no plan that holds; see its answer.txt for the least change that would"
        raise SimstoreError(msg)
    unused = int(document.get(UNUSED, 0))
    return {"base": chosen["base"], "changes": dict(chosen["changes"]), UNUSED: unused}


def with_found_plan(scenario: Scenario, chosen: Mapping[str, Any], name: str = FOUND) -> Scenario:
    """Add the plan that a search has chosen.

    Parameters
    ----------
    scenario : Scenario
        The one that was searched.
    chosen : mapping
        ``base``, a plan of the scenario, and ``changes`` by dotted key.
    name : str
        What the plan is called; not yet a plan of the scenario.

    Raises
    ------
    SimstoreError
        If it does not fit this scenario.
    """
    base, changes = str(chosen["base"]), dict(chosen["changes"])
    plans = scenario.settings.plans
    if base not in plans:
        msg = f"the plan that was found rests on plan '{base}', which it does not have; search it again"
        raise SimstoreError(msg)
    if name in plans:
        msg = f"the scenario has a plan '{name}' already: rename it, since the plan that was found gets this name"
        raise SimstoreError(msg)
    own = f"{OF_PLANS}{base}."
    of_plan = {key: value for key, value in changes.items() if key.startswith(own)}
    of_store = {key: value for key, value in changes.items() if not key.startswith(own)}
    plan = scenario.with_changes(of_plan, what="the plan that was found").settings.plans[base]
    said = ", ".join(
        change_said(scenario.settings, base, key.removeprefix(own), value) for key, value in changes.items()
    )
    found = plan.model_copy(
        update={
            "changes": {**plan.changes, **of_store},
            "label": f"{plan.label}; changed to: {said}" if said else plan.label,
        }
    )
    return replace(scenario, settings=scenario.settings.model_copy(update={"plans": {**plans, name: found}}))


def with_plan_found_in(scenario: Scenario, folder: Path | None) -> tuple[Scenario, dict[str, Any] | None]:
    """Add the plan that the search in ``folder`` has chosen, and say which that is; no folder adds none.

    Raises
    ------
    SimstoreError
        If there is no such plan, or it does not fit.
    """
    if folder is None:
        return scenario, None
    chosen = chosen_of(folder)
    return with_found_plan(scenario, chosen), chosen


def change_said(settings: Settings, base: str, key: str, value: Scalar) -> str:
    """Say one change of a plan in the words of somebody who does not know the keys.

    Parameters
    ----------
    settings : Settings
    base : str
        Plan that is changed.
    key : str
        Dotted key; those of the plan itself without ``plans.NAME``.
    value : scalar
        Its new value, or the text of it.
    """
    parts, text = key.split("."), said_value(value)
    if key == "programme":
        return settings.programmes[text].label if text in settings.programmes else "housed as registered"
    if key == "trigger_pct":
        return f"exchanged at {text} % of the ceiling"
    if parts[0] == "cadence_weeks":
        weeks = "week" if text == "1" else f"{text} weeks"
        plan = settings.plans.get(base)
        every = f"every {weeks}" if plan is None else plan.follows().cadence_said(weeks)
        return f"{parts[1]} {every}" if len(parts) > 1 else every
    if parts[0] == "ovens" and parts[-1] == "count":
        return f"{text} ovens" if text != "1" else "1 oven"
    if parts[0] == "stock" and parts[-1] == "ready":
        return f"{text} packets ready"
    if parts[0] == "technicians" and "sessions" in parts:
        return f"{parts[1]} at work {text}"
    return said_of(key, value)


def name_said(settings: Settings, name: str) -> str:
    """Say the name of a candidate ("when_due; trigger_pct = 85") in the same words."""
    base, *changes = name.split("; ")
    said = [change_said(settings, base, *change.split(" = ", 1)) for change in changes if " = " in change]
    return ": ".join([base, ", ".join(said)]) if said else base
