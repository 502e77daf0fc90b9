"""What it is worth to know an uncertain input before the plan is chosen."""

from __future__ import annotations

import math
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
    now : str
        Plan that is chosen without knowing: the best in the mean over the range.
    at_low, in_use, at_high : str
        Plan that is chosen when the input is known to be at an end, or at the value in use.
    object_days : float
        Object-days short of the standards that are avoided, a year, mean over the range.
    money : float
        Annual-equivalent cost that is saved, mean over the range; below 0 if what is avoided costs more.
    in_all : float
        Both together at what an object-day over the limit is worth; NaN if the scenario does not say what it is worth.
    """

    name: str
    now: str
    at_low: str
    in_use: str
    at_high: str
    object_days: float
    money: float
    in_all: float = math.nan

    @property
    def changes_decision(self) -> bool:
        """Whether another plan than the one chosen without knowing would be chosen somewhere."""
        return any(plan != self.now for plan in (self.at_low, self.in_use, self.at_high))

    @property
    def is_worth_something(self) -> bool:
        """Whether knowing gains anything."""
        return self.object_days > 0 or self.money > 0 if math.isnan(self.in_all) else self.in_all > 0


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


def best_of(judged: Sequence[Judged], harm: float | None = None) -> Judged:
    """Choose as a manager would.

    Where an object-day over the limit has a price, the cheapest with that counted; else the cheapest that falls short
    of nothing, and if there is none, the one that falls short least.
    """
    if harm is not None:
        return min(judged, key=lambda one: (one.cost + harm * one.short, one.plan))
    return min(judged, key=lambda one: (one.short, one.cost, one.plan))


def value_of(
    name: str, base: Sequence[Judged], low: Sequence[Judged], high: Sequence[Judged], harm: float | None = None
) -> Knowing:
    """Value of knowing one input, from how each plan does with the value in use and at both ends.

    Without knowing, the plan that is best in the mean over the three is kept; with it, the best at each is chosen. Both
    ends weigh 0.3, and the value in use 0.4. What is gained is the mean of what each choice spares.

    Parameters
    ----------
    name : str
        The input.
    base, low, high : sequence of Judged
        The same plans, with the value in use and at both ends.
    harm : float, optional
        What it is worth to spare an object a day over its limit. [currency]

    References
    ----------
    .. [1] H. Raiffa, "Decision Analysis", Addison-Wesley, 1968: expected value of perfect information, the mean of the
       best at each outcome against the best of the means.
    """
    places = ((END_WEIGHT, low), (1.0 - 2.0 * END_WEIGHT, base), (END_WEIGHT, high))
    now = best_of([_in_the_mean(one.plan, places) for one in base], harm)
    best = [best_of(judged, harm) for _, judged in places]
    after = math.fsum(weight * one.cost for (weight, _), one in zip(places, best, strict=True))
    short = math.fsum(weight * one.short for (weight, _), one in zip(places, best, strict=True))
    money, days = now.cost - after, now.short - short
    in_all = math.nan if harm is None else money + harm * days
    return Knowing(name, now.plan, best[0].plan, best[1].plan, best[2].plan, days, money, in_all)


def _in_the_mean(plan: str, places: Sequence[tuple[float, Sequence[Judged]]]) -> Judged:
    """One plan in the mean over the weighted places."""
    own = [(weight, next(one for one in judged if one.plan == plan)) for weight, judged in places]
    return Judged(
        plan,
        math.fsum(weight * one.cost for weight, one in own),
        math.fsum(weight * one.short for weight, one in own),
    )
