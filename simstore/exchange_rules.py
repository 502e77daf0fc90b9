"""The rules by which gel is exchanged: one class each.

A rule says when gel falls due, from what a planner knows of it, and what a midnight brings: a list of what is due, or
a round on which enclosures are read. It is registered under its name when its class is made; the scenario's ``rule``
takes these names and no others. The clock counts whole minutes from the run's first midnight.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import ClassVar, Final, Protocol

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Numbers = float | FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Gel:
    """What a planner knows of the gel in one enclosure, as numbers, or in several, as arrays of one shape.

    Attributes
    ----------
    now_min : float
        The present. [min]
    cadence_min : float or ndarray
        The plan's cadence for the metal inside. [min]
    packets : int or ndarray of int
        Packets in each enclosure.
    age_min : float or ndarray
        Time since the gel was dried; NaN where that is not known. [min]
    weighed : bool or ndarray of bool
        Whether ``water`` is known for now, and not only for when the gel was dried.
    water : float or ndarray
        Water on the gel, now if weighed, else when it was dried. [kg/kg]
    spent_min : callable
        Gives the minute at which the planner believes gel to be spent, from a minute and the water on it then.
    """

    now_min: float
    cadence_min: Numbers
    packets: int | NDArray[np.int64]
    age_min: Numbers
    weighed: bool | NDArray[np.bool_]
    water: Numbers
    spent_min: Callable[[FloatArray, FloatArray], Numbers]


class Desk(Protocol):
    """What a rule can have done at midnight; each model of the year has such a desk."""

    @property
    def now_min(self) -> int:
        """Whole minutes since the run's first midnight."""

    def turns(self) -> Iterable[tuple[str, int]]:
        """Metals whose turn has come, each with the minute of its next turn, a cadence later."""

    def list_due(self, until_min: int, metal: str | None = None) -> None:
        """Put on the list every exchange that falls due until then, of one metal or of all."""

    def begin_round(self, metal: str) -> None:
        """Have every enclosure of a metal read."""


class Rule(ABC):
    """When gel is exchanged.

    Attributes
    ----------
    name : str
        As in the scenario.
    words : str
        When gel is exchanged: "exchange ..."
    cadence : str
        What the plan's ``cadence_weeks`` counts.
    keys : frozenset of str
        Keys of the plan, beside the cadence, that this rule goes by.
    """

    name: ClassVar[str]
    words: ClassVar[str]
    cadence: ClassVar[str]
    keys: ClassVar[frozenset[str]] = frozenset()

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        if cls.name in RULES:
            msg = f"there is a rule '{cls.name}' already; give {cls.__name__} a name of its own"
            raise TypeError(msg)
        RULES[cls.name] = cls()

    @abstractmethod
    def due_min(self, gel: Gel) -> FloatArray:
        """Minute at which each exchange falls due, of the shape of ``gel``; infinity for none."""

    def midnight(self, desk: Desk) -> None:
        """Do what is to be done at midnight; every rule lists what has fallen due unless it says otherwise."""
        desk.list_due(desk.now_min)

    def cadence_said(self, weeks: str) -> str:
        """Say a cadence of ``weeks``, which is "week" or a number of weeks."""
        return f"every {weeks}"


RULES: Final[dict[str, Rule]] = {}
"""Every rule by its name, in the order in which they are told."""


class Calendar(Rule):
    """Exchange by date: a cadence after the gel was dried, at once if nobody knows when that was."""

    name = "calendar"
    words = "by date"
    cadence = "weeks between exchanges"

    def due_min(self, gel: Gel) -> FloatArray:
        """Count the time that gel lasts from its drying."""
        due_min = np.maximum(gel.now_min, gel.now_min - np.nan_to_num(gel.age_min) + self.lasts_min(gel))
        return np.where(np.isnan(gel.age_min), gel.now_min, due_min)

    def lasts_min(self, gel: Gel) -> Numbers:
        """Time that gel stays in an enclosure. [min]."""
        return gel.cadence_min


class Reading(Rule):
    """Exchange what is called spent on a round; nothing falls due by itself."""

    name = "reading"
    words = "by what is read on a round"
    cadence = "weeks between rounds"
    keys = frozenset({"indicator"})

    def due_min(self, gel: Gel) -> FloatArray:
        """Never."""
        return np.full(np.shape(gel.age_min), np.inf)

    def midnight(self, desk: Desk) -> None:
        """Begin the rounds whose time has come."""
        for metal, _ in desk.turns():
            desk.begin_round(metal)


class Forecast(Rule):
    """Exchange when the humidity that follows from leak and weather nears the ceiling; lists look a cadence ahead."""

    name = "forecast"
    words = "when the believed RH nears the ceiling"
    cadence = "weeks that a due list looks ahead"
    keys = frozenset({"trigger_pct", "leak_knowledge", "leak_quantile", "leak_error_sigma_ln"})

    def due_min(self, gel: Gel) -> FloatArray:
        """Ask when the gel is believed to be spent, from now if it was weighed, else from its drying."""
        from_min = gel.now_min - np.where(gel.weighed, 0.0, np.nan_to_num(gel.age_min))
        spent_min = gel.spent_min(from_min, np.asarray(gel.water))
        return np.where(np.isnan(gel.age_min) & ~np.asarray(gel.weighed), gel.now_min, spent_min)

    def midnight(self, desk: Desk) -> None:
        """List for each metal whose turn has come what falls due before its next turn."""
        for metal, next_min in desk.turns():
            desk.list_due(next_min, metal)

    def cadence_said(self, weeks: str) -> str:
        """Say how far a due list looks ahead."""
        return "a due list a week ahead" if weeks == "week" else f"a due list {weeks} ahead"
