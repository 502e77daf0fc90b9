"""The room's hourly air from a file: which reader, and what is done about missing hours."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from simstore.errors import Problem
from simstore.scenario.reading.hours import Hours, is_clock_change
from simstore.scenario.reading.logger import read_logger
from simstore.scenario.reading.odd_air import odd_air_in
from simstore.scenario.reading.typical_year import read_epw, read_tmy3
from simstore.scenario.scenario import HourlyAir
from simstore.scenario.values.room import Climate
from simstore.units import HOURS_PER_DAY

LONGEST_FILL_H = 14 * HOURS_PER_DAY
"""Longer gaps are refused whatever the user says: a fortnight of invented weather is no measurement."""
SHOWN_OF_EACH = 5
Gaps = Literal["refuse", "previous", "interpolate"]


def read_air(data: bytes, name: str, climate: Climate) -> tuple[HourlyAir | None, list[Problem], list[str]]:
    """Read a climate file.

    Parameters
    ----------
    data : bytes
        Its content.
    name : str
        Its name in problems and notes.
    climate : Climate
        Says which format it has and what to do about gaps.

    Returns
    -------
    HourlyAir or None
        Whole years of 365 days without 29 February; None if there are problems.
    list of Problem
        At most a few of each sort, with the number of the others.
    list of str
        What was done to the data.
    """
    reader = {"logger": read_logger, "epw": read_epw, "tmy3": read_tmy3}[climate.source]
    hours = reader(data, name, fill=climate.gaps != "refuse")
    problems = [*hours.problems, *gap_problems(hours, name, climate.gaps)]
    if problems:
        return None, list(few_of_each(problems)), []
    notes = [*hours.notes, *odd_air_in(hours, name)]
    if climate.source != "logger" and climate.room is None:
        notes.append(f"{name}: outdoor weather taken as the air of the room; [climate.room] puts a building around it")
    missing = int(np.count_nonzero(np.isnan(hours.temp_c) | np.isnan(hours.rh_pct)))
    if missing:
        word = "the hour before" if climate.gaps == "previous" else "a straight line"
        notes.append(f"{name}: {missing} missing hours filled from {word}")
    air = HourlyAir(
        temp_c=filled(hours.temp_c, climate.gaps),
        rh_pct=filled(hours.rh_pct, climate.gaps),
        first_day_of_year=hours.first_day_of_year,
    )
    return air, [], notes


def filled(values: NDArray[np.float64], gaps: Gaps) -> NDArray[np.float64]:
    """Put values in place of NaN: the one before, or a straight line between the neighbours.

    Parameters
    ----------
    values : ndarray, shape (hours,)
        At the ends the nearest value stands in.
    gaps : str
        ``"previous"`` or ``"interpolate"``.
    """
    present = np.flatnonzero(~np.isnan(values))
    places = np.arange(values.size)
    if present.size in (0, values.size):
        return values
    if gaps == "interpolate":
        return np.asarray(np.interp(places, present, values[present]), dtype=np.float64)
    before = np.clip(np.searchsorted(present, places, side="right") - 1, 0, None)
    return values[present[before]]


def gap_problems(hours: Hours, name: str, gaps: Gaps) -> Iterator[Problem]:
    """Yield each run of missing hours that must not be filled."""
    for start, length in runs(np.isnan(hours.temp_c) | np.isnan(hours.rh_pct)):
        rule = (
            f"{length} hours are missing from {hours.labels[start]}"
            if length > 1
            else f"{hours.labels[start]} is missing"
        )
        cure = 'say gaps = "interpolate" or "previous" in [climate] to have them filled'
        if length > LONGEST_FILL_H:
            rule += f", too long to fill (more than {LONGEST_FILL_H} h)"
            cure = 'use another year, or source = "seasonal"'
        elif gaps != "refuse":
            continue
        elif length == 1 and is_clock_change(hours.labels[start]):
            rule += ": looks like the start of summer time"
            cure = "set the logger to standard time all year, or " + cure
        yield Problem(file=name, line=hours.lines[start], key="time", rule=rule, cure=cure)


def runs(flags: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Start and length of each run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False]))))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        yield int(start), int(end - start)


def few_of_each(problems: Iterable[Problem]) -> Iterator[Problem]:
    """Pass on the first few problems of each sort, then say how many more there are."""
    seen: dict[tuple[str, str], list[Problem]] = {}
    for problem in problems:
        sort = (problem.key, re.sub(r"[\d.:-]+", "#", problem.rule))
        seen.setdefault(sort, []).append(problem)
        if len(seen[sort]) <= SHOWN_OF_EACH:
            yield problem
    for group in seen.values():
        more = len(group) - SHOWN_OF_EACH
        if more > 0:
            last = group[-1]
            rule = f"and {more} more like the {SHOWN_OF_EACH} before, the last in this line"
            yield Problem(file=last.file, line=last.line, key=last.key, rule=f"{rule}: {last.rule}", cure=last.cure)
