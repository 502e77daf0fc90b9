"""The store as its planner expects it: nothing fails, nobody falls ill, every enclosure leaks as it is believed to."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from statistics import NormalDist

from simstore.errors import SimstoreError
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.fields import Lognormal, Spread
from simstore.scenario.values.housing import Enclosure, Kind
from simstore.scenario.values.settings import Settings


def expected(scenario: Scenario, plan: str, *, first: date, days: int, deviate: float = 0.0) -> Scenario:
    """Take all luck out of a scenario, and let it begin on a day.

    An enclosure whose leak the register gives leaks so; any other as the quantile of its kind that the plan believes.
    What happens by chance (failures, illness, breakdowns, visits) is left out; what stands in the calendar stays.

    Parameters
    ----------
    scenario : Scenario
        As read.
    plan : str
        Plan to follow.
    first : date
        First day; the register must describe the store on that day.
    days : int
        Days to follow. [d]
    deviate : float
        Shifts every leak by so many standard deviations of what is not known of it: of the kind's spread, or of the
        error of a measurement.

    Raises
    ------
    SimstoreError
        If gel was dried after ``first``, or there is no such plan.
    """
    later = [each for each in scenario.enclosures if each.last_regenerated and each.last_regenerated > first]
    if later:
        newest = max(each.last_regenerated for each in later if each.last_regenerated)
        msg = (
            f"the register says that gel of {len(later)} enclosures, such as {later[0].id}, was dried after {first}; "
            f"begin on {newest} or later, or take the register of that day"
        )
        raise SimstoreError(msg)
    whole = scenario.under(plan)
    settings = whole.settings
    one = settings.plans[plan]
    believed = NormalDist().inv_cdf(one.leak_quantile) if one.leak_knowledge == "kind" else 0.0
    calm = {
        "start": first,
        "years": 1,
        "days": days,
        "kinds": {name: _sound(kind, believed + deviate) for name, kind in settings.kinds.items()},
        "ovens": {n: oven.model_copy(update={"failures_per_year": 0.0}) for n, oven in settings.ovens.items()},
        "technicians": {
            name: person.model_copy(update={"sick_days_per_year": 0.0}) for name, person in settings.technicians.items()
        },
        "visits": (),
        "arrivals": tuple(batch for batch in settings.arrivals if batch.arrives >= first),
        "rehousing": tuple(campaign for campaign in settings.rehousing if campaign.starts >= first),
        "plans": {plan: one.model_copy(update={"leak_knowledge": "exact"})},
        "watch": (),
    }
    error = math.exp(one.leak_error_sigma_ln * deviate)
    listed = tuple(_misjudged(each, error) for each in whole.enclosures)
    return replace(whole, settings=settings.model_copy(update=calm), enclosures=listed)


def _misjudged(enclosure: Enclosure, error: float) -> Enclosure:
    """Change a leak that was measured by the error of the measurement."""
    keys = ("leak_per_day", "leak_ratio")
    return enclosure.model_copy(
        update={key: getattr(enclosure, key) * error for key in keys if getattr(enclosure, key) is not None}
    )


def measured(settings: Settings, enclosure: Enclosure, kind_name: str) -> bool:
    """Whether the leak of an enclosure is known from the register, or leaves nothing to be known."""
    if enclosure.leak_known and enclosure.kind == kind_name:
        return True
    layers = settings.kinds[kind_name].layers
    return not any(isinstance(layer.leak_per_day, Lognormal) for layer in layers)


def _sound(kind: Kind, deviate: float) -> Kind:
    layers = tuple(
        layer.model_copy(update={"leak_per_day": _leak(layer.leak_per_day, deviate)}) for layer in kind.layers
    )
    return kind.model_copy(update={"failures_per_year": 0.0, "layers": layers})


def _leak(spread: Spread, deviate: float) -> float:
    if isinstance(spread, Lognormal):
        return spread.median * math.exp(spread.sigma_ln * deviate)
    return spread
