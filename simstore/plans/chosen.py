"""Which plans are meant: names that were given, or the scenario's default."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from simstore.errors import SimstoreError
from simstore.scenario.scenario import Scenario


def chosen_plans(scenario: Scenario, wanted: Sequence[str]) -> list[str]:
    """Names of the plans to run, each once; the scenario's default where none is named.

    Raises
    ------
    SimstoreError
        With a suggestion for each unknown name.
    """
    settings = scenario.settings
    problems = []
    for name in wanted:
        if name not in settings.plans:
            near = get_close_matches(name, settings.plans, 1)
            cure = f"did you mean '{near[0]}'?" if near else f"the scenario has {', '.join(settings.plans)}"
            problems.append(f"no plan '{name}'; {cure}")
    if problems:
        raise SimstoreError("\n".join(problems))
    return list(dict.fromkeys(wanted)) or [settings.default_plan]
