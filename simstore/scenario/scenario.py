"""The scenario: a frozen value without files, from which a run follows completely."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from simstore.errors import SimstoreError
from simstore.scenario.checking.changes import changed_settings
from simstore.scenario.checking.finding import suggestion
from simstore.scenario.values.groups import enclosures_of
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.plan import Scalar
from simstore.scenario.values.settings import Settings


@dataclass(frozen=True, slots=True, eq=False)
class HourlyAir:
    """Measured or typical air of the room, one value an hour from the first hour of 1 January or of the logger.

    Attributes
    ----------
    temp_c, rh_pct : ndarray, shape (hours,)
        A whole number of days; a run that is longer starts again at the beginning.
    first_day_of_year : int
        Day of the year of the first value, 1 for 1 January.
    """

    temp_c: NDArray[np.float64]
    rh_pct: NDArray[np.float64]
    first_day_of_year: int = 1


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A file that the scenario was read from, for the manifest."""

    name: str
    data: bytes = field(repr=False)

    @property
    def sha256(self) -> str:
        """Hash of its bytes."""
        return hashlib.sha256(self.data).hexdigest()

    @property
    def text(self) -> str | None:
        """Its text; None where it is not UTF-8."""
        try:
            return self.data.decode("utf-8")
        except UnicodeDecodeError:
            return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A store, its climate, its people and the plans for it.

    Attributes
    ----------
    enclosures : tuple of Enclosure
        Rows of the register in its order, then those of the groups.
    notes : tuple of str
        What reading did to the data with the user's leave (hours filled, days left out); the report repeats them.
    further : mapping of str to mapping
        What the user's own list says beside the register, by enclosure and heading.
    """

    settings: Settings
    enclosures: tuple[Enclosure, ...]
    air: HourlyAir | None = None
    files: tuple[SourceFile, ...] = field(default=())
    notes: tuple[str, ...] = field(default=())
    further: Mapping[str, Mapping[str, str]] = field(default_factory=dict, compare=False)

    def under(self, plan: str, more: Mapping[str, Scalar] | None = None, *, what: str = "") -> Scenario:
        """Make the changes that ``plan`` brings with it; the one place where this is done.

        What comes of it knows this plan alone, and its changes are made: nothing can be measured under another one.

        Parameters
        ----------
        plan : str
            Name of one of the plans.
        more : mapping of str to scalar, optional
            Dotted keys that are set beyond the plan's own changes, or instead of them.
        what : str
            Heads the message if something is wrong.

        Raises
        ------
        SimstoreError
            If there is no such plan, or its changes do not fit.
        """
        plans = self.settings.plans
        if plan not in plans:
            msg = f"there is no plan '{plan}'; {suggestion(plan, plans, known_as='plans of the scenario')}"
            raise SimstoreError(msg)
        alone = plans[plan].model_copy(update={"changes": {}})
        only = {"plans": {plan: alone}, "default_plan": plan, "search": None}
        changes = {**plans[plan].changes, **(more or {})}
        resolved = replace(self, settings=self.settings.model_copy(update=only))
        return resolved.with_changes(changes, what=what or f"changes of plan '{plan}'")

    def with_changes(self, changes: Mapping[str, Scalar], *, what: str = "changes") -> Scenario:
        """Set dotted keys, such as ``"ovens.small.count"``, and check the whole again.

        Parameters
        ----------
        changes : mapping of str to scalar
            New values by dotted key; positions in arrays are numbers, ``"kinds.clip_box.layers.0.leak_per_day"``.
        what : str
            Heads the message if something is wrong.

        Returns
        -------
        Scenario
            The same scenario if nothing changes.

        Raises
        ------
        SimstoreError
            With every problem that the changes make.
        """
        if not changes:
            return self
        listed = self.enclosures[: len(self.enclosures) - sum(group.count for group in self.settings.groups)]
        settings = changed_settings(self.settings, changes, listed, what=what)
        grouped = enclosures_of(settings.groups, seed=settings.seed, start=settings.start)
        return replace(self, settings=settings, enclosures=(*listed, *grouped))
