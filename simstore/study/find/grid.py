"""Where the plans of a search stand among each other, and the runs of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from simstore.lab.bench import Task
from simstore.plans.candidates import Candidate, value_at
from simstore.results.objective import SIMULATED_COST
from simstore.scenario.scenario import Scenario
from simstore.statistics.plan_belief import Grid, Run
from simstore.study.find.samples import Samples

SCORE = "margin_ln"
HOURS = "technicians."
AFTER = 1.002
"""Factor on the cost of a plan for each change of working hours: hours cost nothing until they are worked, so that
nothing else would keep a search from asking for more than are needed."""


def grid_of(scenario: Scenario, plans: Sequence[Candidate]) -> Grid:
    """Give each plan coordinates: one for each number that is varied, one for each word that a varied key may take.

    Plans of one base make a group.
    """
    keys = sorted({key for plan in plans for key, _ in plan.changes})
    bases = list(dict.fromkeys(plan.base for plan in plans))
    columns: list[NDArray[np.float64]] = []
    for key in keys:
        values = [dict(plan.changes).get(key, value_at(scenario.settings, key)) for plan in plans]
        if all(isinstance(value, int | float) for value in values):
            ranks = sorted({float(value) for value in values})
            columns.append(np.array([ranks.index(float(value)) / max(len(ranks) - 1, 1) for value in values]))
        else:
            words = [str(value) for value in values]
            columns += [np.array([float(word == each) for word in words]) for each in sorted(set(words))]
    places = np.stack(columns, axis=1) if columns else np.zeros((len(plans), 1))
    return Grid(places, np.array([bases.index(plan.base) for plan in plans], dtype=np.intp))


def trials_of(samples: Samples) -> Callable[[Sequence[tuple[Candidate, int]]], list[Run]]:
    """Return what runs plans on numbered replications and remembers them in ``samples``."""

    def trials(pairs: Sequence[tuple[Candidate, int]]) -> list[Run]:
        samples.measure_all([Task(plan, number) for plan, number in pairs])
        found = []
        for plan, number in pairs:
            metrics = samples.metrics(plan, number)
            later = AFTER ** sum(key.startswith(HOURS) for key, _ in plan.changes)
            found.append(Run(metrics[SIMULATED_COST] * later, metrics[SCORE]))
        return found

    return trials
