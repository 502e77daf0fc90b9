"""The calendar as arithmetic: working sessions and turns, in whole minutes since the run's first midnight."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date, timedelta
from typing import NamedTuple

from simstore.scenario.values.sessions import parse_session
from simstore.scenario.values.work import Technician
from simstore.units import MINUTES_PER_DAY


class Session(NamedTuple):
    """One stretch of work, half open."""

    start_min: int
    end_min: int


def working_sessions(
    technician: Technician, *, start: date, days: int, holidays: Collection[date] = (), off_days: Collection[int] = ()
) -> list[Session]:
    """Every session of ``technician`` in the run, in order.

    Parameters
    ----------
    technician : Technician
        Weekly sessions, leave and first day.
    start : date
        First day of the run.
    days : int
        Length of the run. [d]
    holidays : collection of date
        Days on which nobody works.
    off_days : collection of int
        Days of the run on which this person is ill or kept away.
    """
    weekly: dict[int, list[tuple[int, int]]] = {}
    for text in technician.sessions:
        weekday, start_min, end_min = parse_session(text)
        weekly.setdefault(weekday, []).append((start_min, end_min))
    sessions = []
    for day in range(days):
        today = start + timedelta(days=day)
        if today in holidays or day in off_days or (technician.starts is not None and today < technician.starts):
            continue
        if any(first <= today <= last for first, last in technician.leave):
            continue
        midnight = day * MINUTES_PER_DAY
        sessions += [Session(midnight + a, midnight + b) for a, b in sorted(weekly.get(today.weekday(), ()))]
    return sessions


class Turns:
    """Whose turn it is: each name at the first midnight, then a cadence later, though a day later at the soonest.

    Parameters
    ----------
    cadence_min : mapping of str to int
        Minutes between two turns, by name.
    """

    def __init__(self, cadence_min: Mapping[str, int]) -> None:
        self._cadence_min = cadence_min
        self._next_min = dict.fromkeys(cadence_min, 0)

    def come(self, now_min: int) -> Iterator[tuple[str, int]]:
        """Yield every turn up to now, each once, with the minute of the next one."""
        for name, cadence_min in self._cadence_min.items():
            while self._next_min[name] <= now_min:
                self._next_min[name] += max(cadence_min, MINUTES_PER_DAY)
                yield name, self._next_min[name]
