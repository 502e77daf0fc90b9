"""The working days of the screening model: steps that begin with work, and what people have time for in each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.values.settings import Settings
from simstore.store.calendar import working_sessions
from simstore.units import DAYS_PER_WEEK, MINUTES_PER_DAY, MINUTES_PER_HOUR

SHORTEST_STEP_DAYS = 2
"""Working days that follow each other closer than this are taken together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Steps of a run; arrays of shape (steps,) unless said otherwise.

    Attributes
    ----------
    days : ndarray of int, shape (steps + 1,)
        First day of each step, then the end of the run; work is done on the first day.
    minutes : ndarray
        Working time of everybody. [min]
    sessions : ndarray of int
        Sessions of everybody.
    working_days : ndarray of int
        Days with a session.
    shares : dict of str to float
        Share of the working time that each person has.
    """

    days: NDArray[np.int64]
    minutes: NDArray[np.float64]
    sessions: NDArray[np.int64]
    working_days: NDArray[np.int64]
    shares: dict[str, float]


def calendar_of(settings: Settings, days: int) -> Calendar:
    """Lay out the steps of a run of ``days`` days; weeks where nobody works."""
    people = {
        name: working_sessions(person, start=settings.start, days=days, holidays=settings.holidays)
        for name, person in settings.technicians.items()
    }
    by_day: dict[int, list[float]] = {}
    totals = dict.fromkeys(people, 0.0)
    for name, sessions in people.items():
        limit = settings.technicians[name].handling_limit_h_per_day * MINUTES_PER_HOUR
        for session in sessions:
            minutes = min(float(session.end_min - session.start_min), limit)
            by_day.setdefault(session.start_min // MINUTES_PER_DAY, []).append(minutes)
            totals[name] += minutes
    starts = [0]
    for day in [*sorted(by_day), *([] if by_day else range(0, days, DAYS_PER_WEEK))]:
        if day - starts[-1] >= SHORTEST_STEP_DAYS:
            starts.append(day)
    edges = np.array([*starts, days], dtype=np.int64)
    step_of = {day: int(np.searchsorted(edges, day, side="right")) - 1 for day in by_day}
    work_min, sessions_in, working = (np.zeros(len(starts)) for _ in range(3))
    for day, each in by_day.items():
        work_min[step_of[day]] += sum(each)
        sessions_in[step_of[day]] += len(each)
        working[step_of[day]] += 1
    whole = sum(totals.values()) or 1.0
    return Calendar(
        days=edges,
        minutes=work_min,
        sessions=sessions_in.astype(np.int64),
        working_days=working.astype(np.int64),
        shares={name: total / whole for name, total in totals.items()},
    )
