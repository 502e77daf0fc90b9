"""What is simulated: one plan of a scenario, or of one in which something is otherwise."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

from simstore.scenario.scenario import Scenario
from simstore.scenario.values.events import Incident
from simstore.scenario.values.plan import Scalar


class Simulated(Protocol):
    """A recipe: small and fit to be hashed, so that another process can be told of it and make the scenario itself."""

    @property
    def plan(self) -> str:
        """Name of the plan."""

    def scenario_of(self, scenario: Scenario) -> Scenario:
        """Derive the scenario under the plan."""


@dataclass(frozen=True, slots=True)
class Variant:
    """One plan of a store in which something is otherwise.

    Attributes
    ----------
    plan : str
        Name of the plan; where it sets a key itself, that holds.
    changes : tuple of (str, scalar)
        Dotted keys of the scenario with their values.
    incidents : tuple of Incident
        What goes wrong besides the scenario's own incidents.
    """

    plan: str
    changes: tuple[tuple[str, Scalar], ...] = ()
    incidents: tuple[Incident, ...] = ()

    def scenario_of(self, scenario: Scenario) -> Scenario:
        """Derive the scenario under the plan.

        Raises
        ------
        SimstoreError
            If there is no such plan, or the changes do not fit.
        """
        varied = scenario.with_changes(dict(self.changes), what=f"plan '{self.plan}' with changes").under(self.plan)
        if not self.incidents:
            return varied
        incidents = (*varied.settings.incidents, *self.incidents)
        return replace(varied, settings=varied.settings.model_copy(update={"incidents": incidents}))
