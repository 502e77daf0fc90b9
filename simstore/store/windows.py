"""Stretches of time in which something is out of order: ovens, people and the room's plant."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from simstore.scenario.values.settings import Settings
from simstore.scenario.values.work import Oven, Technician
from simstore.store.luck import stream
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_DAY

Window = tuple[int, int]
SPELL_DAYS = 3.0
"""Mean length of one illness, in days; an assumption."""


def incident_windows(settings: Settings, kinds: frozenset[str], name: str | None = None) -> list[Window]:
    """Minutes of the run in which an incident of one of ``kinds`` holds for ``name``, half open, in order."""
    windows = []
    for incident in settings.incidents:
        if incident.what in kinds and incident.name in (None, name):
            first = (incident.starts - settings.start).days * MINUTES_PER_DAY
            windows.append((first, first + round(incident.days * MINUTES_PER_DAY)))
    return sorted(windows)


def oven_outages(
    settings: Settings, oven: Oven, *, name: str, unit: str, replication: int, days: int
) -> tuple[list[Window], list[Window]]:
    """Outages that are known beforehand, and breakdowns by chance, of one oven.

    Breakdowns come at a constant rate while the oven is in order; each takes ``repair_days``.
    """
    known = incident_windows(settings, frozenset({"oven_out", "power_cut"}), name)
    broken = []
    if oven.failures_per_year > 0:
        luck = stream(settings.seed, replication, "breakdown", unit)
        repair_min = round(oven.repair_days * MINUTES_PER_DAY)
        minutes_between = DAYS_PER_YEAR * MINUTES_PER_DAY / oven.failures_per_year
        clock = luck.exponential(minutes_between)
        while clock < days * MINUTES_PER_DAY:
            broken.append((round(clock), round(clock) + repair_min))
            clock += repair_min + luck.exponential(minutes_between)
    return known, broken


def sick_days(settings: Settings, person: Technician, *, name: str, replication: int, days: int) -> set[int]:
    """Days of the run on which one person is ill: spells of three days on average, at random."""
    if person.sick_days_per_year <= 0:
        return set()
    luck = stream(settings.seed, replication, "illness", name)
    between = SPELL_DAYS * (DAYS_PER_YEAR / person.sick_days_per_year - 1.0)
    ill: set[int] = set()
    day = luck.exponential(between)
    while day < days:
        length = int(luck.geometric(1.0 / SPELL_DAYS))
        ill.update(range(int(day), min(int(day) + length, days)))
        day += length + luck.exponential(between)
    return ill


def away_days(settings: Settings, *, name: str, days: int) -> set[int]:
    """Days of the run on which an incident keeps one person away."""
    away: set[int] = set()
    for first, last in incident_windows(settings, frozenset({"person_away"}), name):
        away.update(range(max(first // MINUTES_PER_DAY, 0), min(-(-last // MINUTES_PER_DAY), days)))
    return away


def pace(person: Technician, start: date, now_min: int) -> float:
    """Share of the usual pace at which one person works now, 1 after training."""
    if person.starts is None or person.training_weeks <= 0:
        return 1.0
    today = start + timedelta(days=now_min // MINUTES_PER_DAY)
    return person.training_pct / 100.0 if (today - person.starts).days < person.training_weeks * 7 else 1.0


def joined(windows: list[Window]) -> tuple[Window, ...]:
    """Stretches that touch or overlap as one, in order."""
    whole: list[Window] = []
    for first, last in sorted(windows):
        if whole and first <= whole[-1][1]:
            whole[-1] = (whole[-1][0], max(last, whole[-1][1]))
        else:
            whole.append((first, last))
    return tuple(whole)


def holding(windows: Sequence[Window], now_min: int) -> int | None:
    """End of the window that holds now, or None."""
    return next((last for first, last in windows if first <= now_min < last), None)
