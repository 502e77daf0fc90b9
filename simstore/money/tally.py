"""What one run of a plan took, in quantities: the simulation fills it, `simstore.money.costs` prices it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from simstore.scenario.values.plan import Plan
from simstore.scenario.values.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Work, goods and losses of a run, and what stood in the store during it; counts may be means.

    Attributes
    ----------
    settings : Settings
        With the plan's changes made: what prices, wages and lives are.
    plan : Plan
    days : float
        Length of the run. [d]
    worked_min : mapping of str to float
        Minutes that each person worked on tasks, by name. [min]
    orders : sequence of (str, int)
        Sort of packet and number of packets of each order.
    changed : mapping of str to float
        Packets changed, by sort.
    energy_kwh : float
        Electricity of the ovens. [kWh]
    repairs : mapping of str to float
        Breakdowns of ovens, by sort of oven.
    failed : mapping of str to float
        Enclosures that failed and had to be replaced, by kind.
    lost_kg : mapping of str to float
        Dry gel that became waste, by sort of packet. [kg]
    enclosures : mapping of str to float
        Enclosures, by kind.
    placed : mapping of str to float
        Packets in the enclosures as the plan houses them at the start, by sort.
    """

    settings: Settings
    plan: Plan
    days: float
    worked_min: Mapping[str, float]
    orders: Sequence[tuple[str, int]]
    changed: Mapping[str, float]
    energy_kwh: float
    repairs: Mapping[str, float]
    failed: Mapping[str, float]
    lost_kg: Mapping[str, float]
    enclosures: Mapping[str, float]
    placed: Mapping[str, float]
