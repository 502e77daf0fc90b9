"""What may go wrong with a store, and when it hurts most: read from how the undisturbed plan went.

The oven fails, and the person is away, in the weeks in which the undisturbed plan uses them most; the air handling
fails in the month that is expected to be dampest.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simstore.lab.harvest import Harvest, Metrics, frozen_metrics, thawed_metrics
from simstore.plans.variant import Variant
from simstore.results.metrics import metrics_of
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.events import Incident
from simstore.scenario.values.settings import Settings
from simstore.sim.record import IDLE, RunRecord
from simstore.store.climate import expected_air
from simstore.units import DAYS_PER_WEEK, DAYS_PER_YEAR, HOURS_PER_DAY, MINUTES_PER_DAY

OVEN_OUT_DAYS: Final = 30
AWAY_DAYS: Final = 42
MONTH_DAYS: Final = 30
AIR_FAILED_SHIFT_PCT: Final = 15.0
"""%RH that the room gains without its air handling; an assumption, common practice, no source."""
WETTER_SHIFT_PCT: Final = 5.0
"""%RH that every hour of the wetter year is damper; an assumption, common practice, no source."""
BUDGET_LEFT: Final = 0.5
"""Share of its yearly purchases that the plan may still make."""

FloatArray = NDArray[np.float64]


class Stress(NamedTuple):
    """One thing that goes wrong.

    Attributes
    ----------
    name, label : str
        For tables, and for sentences.
    first_day, last_day : int
        Of the run, from 0; the first and last day of the run for what lasts throughout.
    """

    name: str
    label: str
    first_day: int
    last_day: int


class StressRun(NamedTuple):
    """What is kept of one run.

    Attributes
    ----------
    metrics : tuple of MetricValue
    week_held : mapping of str to ndarray, shape (weeks,)
        Object-days of each metal class that are held in each whole week. [%]
    loaded_kg : ndarray, shape (days,)
        Gel that goes into ovens on each day.
    worked_min : mapping of str to ndarray, shape (days,)
        Minutes that each technician works on each day.
    spent_per_year : float
        Money for purchases.
    undone : int
        Pieces of work that still wait at the end.
    """

    metrics: Metrics
    week_held: dict[str, FloatArray]
    loaded_kg: FloatArray
    worked_min: dict[str, FloatArray]
    spent_per_year: float
    undone: int


def stress_run(record: RunRecord) -> StressRun:
    """Keep the metrics, the weeks, and when ovens and people are used."""
    loaded = np.zeros(record.days)
    for load in record.loads:
        loaded[min(load.loaded_min // MINUTES_PER_DAY, record.days - 1)] += load.gel_kg
    worked = {name: np.zeros(record.days) for name in record.scenario.settings.technicians}
    for row in record.staff:
        if row.task != IDLE:
            worked[row.technician][row.session_min // MINUTES_PER_DAY] += row.minutes
    return StressRun(
        metrics=tuple(metrics_of(record)),
        week_held=week_held_pct(record),
        loaded_kg=loaded,
        worked_min=worked,
        spent_per_year=sum(order.price for order in record.orders) * DAYS_PER_YEAR / record.days,
        undone=len(record.undone),
    )


def _frozen(run: StressRun) -> bytes:
    return json.dumps(
        {
            "metrics": frozen_metrics(run.metrics).decode(),
            "week_held": {name: values.tolist() for name, values in run.week_held.items()},
            "loaded_kg": run.loaded_kg.tolist(),
            "worked_min": {name: values.tolist() for name, values in run.worked_min.items()},
            "spent_per_year": run.spent_per_year,
            "undone": run.undone,
        }
    ).encode()


def _thawed(text: bytes) -> StressRun:
    kept = json.loads(text)
    return StressRun(
        metrics=thawed_metrics(kept["metrics"]),
        week_held={str(name): np.array(values, dtype=np.float64) for name, values in kept["week_held"].items()},
        loaded_kg=np.array(kept["loaded_kg"], dtype=np.float64),
        worked_min={str(name): np.array(values, dtype=np.float64) for name, values in kept["worked_min"].items()},
        spent_per_year=float(kept["spent_per_year"]),
        undone=int(kept["undone"]),
    )


STRESS_RUNS: Final[Harvest[StressRun]] = Harvest("stress", stress_run, _frozen, _thawed)


def week_held_pct(record: RunRecord) -> dict[str, FloatArray]:
    """Share of the object-days of each metal class that are held in each whole week, shape (weeks,). [%]."""
    year = record.enclosures
    weeks = record.days // DAYS_PER_WEEK
    found = {}
    for metal in sorted(set(year.metal)):
        mine = np.array([name == metal for name in year.metal])
        ceiling = record.scenario.settings.metals[metal].ceiling_rh_pct
        held = year.day_mean_rh_pct[mine, : weeks * DAYS_PER_WEEK] <= ceiling
        share = year.objects[mine] @ held / year.objects[mine].sum()
        found[metal] = 100.0 * share.reshape(weeks, DAYS_PER_WEEK).mean(axis=1)
    return found


def stresses_of(
    scenario: Scenario, plan: str, scouts: Sequence[StressRun]
) -> tuple[list[tuple[Stress, Variant]], tuple[str, ...]]:
    """Choose what goes wrong and when, from how the undisturbed runs went.

    Returns
    -------
    list of (Stress, Variant)
        With the variant in which it happens.
    tuple of str
        Sentences about failures that this plan does not know.
    """
    settings = scenario.under(plan).settings
    days = len(scouts[0].loaded_kg)
    found: list[tuple[Stress, Variant]] = []
    notes = []
    loaded = np.mean([run.loaded_kg for run in scouts], axis=0)
    if settings.ovens and loaded.sum() > 0:
        first = _busiest(loaded, OVEN_OUT_DAYS)
        one = Incident(what="oven_out", starts=_day(settings, first), days=float(OVEN_OUT_DAYS))
        stress = _span("oven_out", f"oven out for {OVEN_OUT_DAYS} days", first, OVEN_OUT_DAYS, days)
        found.append((stress, Variant(plan, incidents=(one,))))
    else:
        notes.append("No oven is used under this plan: its failure changes nothing.")
    worked = {name: np.mean([run.worked_min[name] for run in scouts], axis=0) for name in settings.technicians}
    if worked and max(minutes.sum() for minutes in worked.values()) > 0:
        name = max(worked, key=lambda who: (float(worked[who].sum()), who))
        first = _busiest(worked[name], AWAY_DAYS)
        one = Incident(what="person_away", starts=_day(settings, first), days=float(AWAY_DAYS), name=name)
        label = f"technician {name} away for {AWAY_DAYS // DAYS_PER_WEEK} weeks"
        found.append((_span("person_away", label, first, AWAY_DAYS, days), Variant(plan, incidents=(one,))))
    first = wettest_day(scenario, days)
    one = Incident(
        what="air_handling_out",
        starts=_day(settings, first),
        days=float(MONTH_DAYS),
        shift_rh_pct=AIR_FAILED_SHIFT_PCT,
    )
    label = f"air handling out for {MONTH_DAYS} days, +{AIR_FAILED_SHIFT_PCT:g} %RH"
    found.append((_span("air_handling_out", label, first, MONTH_DAYS, days), Variant(plan, incidents=(one,))))
    spent = float(np.mean([run.spent_per_year for run in scouts]))
    if spent > 0:
        budget = max(BUDGET_LEFT * spent, 0.01)
        label = f"half of the purchases, {budget:.0f} {settings.prices.currency} a year"
        variant = Variant(plan, (("prices.budget_per_year", budget),))
        found.append((Stress("budget_cut", label, 0, days - 1), variant))
    else:
        notes.append(
            "No gel or packets were ordered during these runs, so that a cut of the yearly purchases could not be "
            "tested; what is bought before the first day is not touched by it."
        )
    shift = settings.climate.shift_rh_pct + WETTER_SHIFT_PCT
    wetter = Variant(plan, (("climate.shift_rh_pct", shift),))
    found.append((Stress("wetter_year", f"a wetter year, +{WETTER_SHIFT_PCT:g} %RH", 0, days - 1), wetter))
    return found, tuple(notes)


def wettest_day(scenario: Scenario, days: int) -> int:
    """First day of the month (30 days) of the run that is expected to be dampest."""
    room = expected_air(scenario, first_day=0, days=days)
    by_day = np.asarray(room.activity, dtype=np.float64).reshape(days, HOURS_PER_DAY).mean(axis=1)
    return _busiest(by_day, MONTH_DAYS)


def _busiest(per_day: FloatArray, days: int) -> int:
    """First day of the span in which most happens; the earliest of equals."""
    if len(per_day) <= days:
        return 0
    total = np.convolve(per_day, np.ones(days), mode="valid")
    return int(np.argmax(total > total.max() * (1.0 - 1e-12)))


def _span(name: str, label: str, first: int, length: int, days: int) -> Stress:
    return Stress(name, label, first, min(first + length, days) - 1)


def _day(settings: Settings, day: int) -> date:
    return settings.start + timedelta(days=day)
