"""What a process that simulates keeps by it: the scenario, which is sent to it once, and what it derives from it."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeVar

from simstore.errors import SimstoreError
from simstore.lab.fingerprint import Program, program
from simstore.lab.parcels import Parcel, opened, opened_scenario, packed
from simstore.plans.variant import Simulated
from simstore.scenario.scenario import Scenario

Made = TypeVar("Made")

MOST_VARIANTS: Final = 64
"""Derived scenarios that a process remembers; they share their enclosures, so that each is small."""
MOST_PLACES: Final = 4
"""Scenarios that a process remembers; a worker of a cluster serves one command after another."""


class Workplace:
    """A scenario with all that one process works out from it and needs again."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self._variants: dict[Simulated, Scenario] = {}
        self._made: dict[str, Any] = {}

    def variant(self, simulated: Simulated) -> Scenario:
        """Return the derived scenario; it is made once.

        Raises
        ------
        SimstoreError
            If the recipe does not fit the scenario.
        """
        known = self._variants.get(simulated)
        if known is None:
            if len(self._variants) >= MOST_VARIANTS:
                self._variants.clear()
            known = self._variants[simulated] = simulated.scenario_of(self.scenario)
        return known

    def remembered(self, name: str, make: Callable[[Scenario], Made]) -> Made:
        """Return what ``make`` makes of the scenario; it is made once for each name."""
        if name not in self._made:
            self._made[name] = make(self.scenario)
        made: Made = self._made[name]
        return made


class Sent(NamedTuple):
    """How a worker comes by the scenario.

    Attributes
    ----------
    key : str
        Names the scenario.
    path : str
        File on this machine that holds it, packed; empty where there is none.
    packed : bytes
        The scenario itself; sent only to a worker that has said that it is missing.
    folder : str
        Place on this machine for what is large; empty where there is none.
    """

    key: str
    path: str = ""
    packed: bytes = b""
    folder: str = ""


class Missing(NamedTuple):
    """A worker's answer when it does not have the scenario yet."""

    key: str


_places: dict[str, Workplace] = {}
"""The workplaces of this process, by the scenario's key."""


def install(key: str, workplace: Workplace) -> None:
    """Make a workplace known to this process, and to those that are copied from it."""
    while len(_places) >= MOST_PLACES:
        del _places[next(iter(_places))]
    _places[key] = workplace


def dismiss(key: str) -> None:
    """Forget a workplace."""
    _places.pop(key, None)


def at_work(sent: Sent, expected: Program | None, order: Parcel) -> Parcel | Missing:
    """Do what an order says, in whichever process this is.

    Parameters
    ----------
    sent : Sent
        The scenario.
    expected : Program, optional
        The program of the process that asks, where this one may run another.
    order : Parcel
        A function of a module, and the items to do it for.

    Returns
    -------
    Parcel
        Seconds that it took, and what the function made of each item; or `Missing`, to be asked again with the
        scenario.

    Raises
    ------
    SimstoreError
        If this process runs another program than the one that asks.
    """
    unlike = "" if expected is None else expected.unlike(program())
    if unlike:
        msg = f"a worker has {unlike}; every machine must have the same versions: install them there, and begin again"
        raise SimstoreError(msg)
    place = _places.get(sent.key)
    if place is None:
        data = Path(sent.path).read_bytes() if sent.path else sent.packed
        if not data:
            return Missing(sent.key)
        place = Workplace(opened_scenario(data))
        install(sent.key, place)
    function, items = opened(order)
    begun_s = time.perf_counter()
    results = [function(place, item) for item in items]
    return packed((time.perf_counter() - begun_s, results), sent.folder)
