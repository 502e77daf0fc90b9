"""What it is worth to know an uncertain input before the plan is chosen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from simstore.results.judged import metals_of
from simstore.results.metrics import MetricValue
from simstore.results.series import series
from simstore.scenario.scenario import Scenario
from simstore.units import DAYS_PER_YEAR

Rows = Sequence[tuple[MetricValue, ...]]
# Swanson's rule: the mean of a distribution from its 10, 50 and 90 % points. A. Hurst, G. C. Brown and R. I. Swanson,
# "Swanson's 30-40-30 rule", AAPG Bulletin 84, 2000, 1883-1891 (quoted from memory, unverified against print).
END_WEIGHT: Final = 0.3


class Knowing(NamedTuple):
    """What it is worth to know one input before the plan is chosen.

    Attributes
    ----------
    now, at_low, at_high : str
        Plan that is chosen with the values in use, and at the ends.
    object_days : float
        Object-days short of the standards that are avoided, a year, mean over the range.
    money : float
        Annual-equivalent cost that is saved, mean over the range; below 0 if what is avoided costs more.
    """

    name: str
    now: str
    at_low: str
    at_high: str
    object_days: float
    money: float

    @property
    def changes_decision(self) -> bool:
        """Whether another plan would be chosen at an end."""
        return self.at_low != self.now or self.at_high != self.now


class Judged(NamedTuple):
    """One plan at one point: what it costs and what it falls short."""

    plan: str
    cost: float
    short: float


def object_days_short(rows: Rows, scenario: Scenario) -> float:
    """Object-days a year by which the mean held shares fall short of the standards, over all metal classes."""
    settings = scenario.settings
    objects = dict.fromkeys(settings.metals, 0)
    for enclosure in scenario.enclosures:
        objects[enclosure.metal] += enclosure.objects
    short = 0.0
    for metal in metals_of({"": rows}):
        held = float(np.mean(series(rows, f"held_pct.{metal}")))
        short += max(0.0, settings.metals[metal].standard_pct - held) / 100.0 * objects[metal] * DAYS_PER_YEAR
    return short


def best_of(judged: Sequence[Judged]) -> Judged:
    """Choose as a manager would: the cheapest that falls short of nothing, else the one that falls short least."""
    return min(judged, key=lambda one: (one.short, one.cost, one.plan))


def value_of(name: str, base: Sequence[Judged], low: Sequence[Judged], high: Sequence[Judged]) -> Knowing:
    """Value of knowing one input, from how each plan does with the value in use and at both ends.

    The plan now is the best with the value in use. At each end it is replaced by the best there; both ends weigh 0.3,
    and the value in use, where nothing is gained, 0.4.
    """
    now = best_of(base)
    money, days = 0.0, 0.0
    best = []
    for end in (low, high):
        kept = next(one for one in end if one.plan == now.plan)
        after = best_of(end)
        best.append(after.plan)
        money += END_WEIGHT * (kept.cost - after.cost)
        days += END_WEIGHT * (kept.short - after.short)
    return Knowing(name, now.plan, best[0], best[1], days, money)
