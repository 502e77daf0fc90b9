"""Readings of a room logger: columns time, temp_c and rh_pct, one row a reading, to hourly means.

What is decided here: the file covers whole days and at least 365 of them; 29 February and what is left after the
last whole year are dropped with a note;
readings out of range are never repaired, only empty cells and absent hours are gaps.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from itertools import pairwise

import numpy as np

from simstore.errors import Problem
from simstore.scenario.reading.csv_rows import Row, rows_of
from simstore.scenario.reading.hours import DAYS_IN_YEAR, Hours, is_clock_change, number_in
from simstore.units import HOURS_PER_DAY, MINUTES_PER_HOUR

COLUMNS = ("time", "temp_c", "rh_pct")
RANGES = {"temp_c": (-40.0, 60.0), "rh_pct": (0.0, 100.0)}
LONGEST_DAYS = 40 * 366


def read_logger(data: bytes, name: str, *, fill: bool) -> Hours:
    """Hourly means of a logger's file.

    Parameters
    ----------
    data : bytes
        CSV, times in ISO form with or without an offset from UTC, rising.
    name : str
        The file's name in problems.
    fill : bool
        Whether the user lets gaps be filled; then an hour that the end of summer time doubles is averaged.
    """
    rows, problems = rows_of(data, name, columns=COLUMNS, required=COLUMNS)
    hours = Hours(problems=problems)
    if problems and not rows:
        return hours
    if not rows:
        hours.problems.append(Problem(file=name, line=1, rule="has a header but no rows", cure="add the readings"))
        return hours
    stamps: list[datetime] = []
    lines: list[int] = []
    values: dict[str, list[float]] = {"temp_c": [], "rh_pct": []}
    times = _Times(name, hours.problems)
    for row in rows:
        stamp = times.of(row)
        readings = {column: _reading(row, column, name, hours.problems) for column in values}
        if stamp is not None:
            stamps.append(stamp)
            lines.append(row.line)
            for column, value in readings.items():
                values[column].append(value)
    if stamps:
        _check_order(stamps, lines, hours, name, fill=fill)
    if not hours.problems:
        _into_hours(stamps, lines, values, hours, name)
    return hours


class _Times:
    """Reads time cells; all of them with an offset from UTC, or none."""

    def __init__(self, name: str, problems: list[Problem]) -> None:
        self._name = name
        self._problems = problems
        self._offset: timedelta | None = None
        self._first: Row | None = None

    def of(self, row: Row) -> datetime | None:
        """Time of a row on the clock of the first row, without an offset."""
        text = row.cells.get("time", "")
        try:
            stamp = datetime.fromisoformat(text) if "-" in text[4:5] else None
        except ValueError:
            stamp = None
        if stamp is None:
            cure = "write it as 2026-01-31 14:00"
            rule = "is not a time" if text else "is empty"
            self._problems.append(
                Problem(file=self._name, line=row.line, key="time", value=text[:40], rule=rule, cure=cure)
            )
            return None
        offset = stamp.utcoffset()
        if self._first is None:
            self._first, self._offset = row, offset
        if (offset is None) != (self._offset is None):
            rule = f"has {'an' if offset is not None else 'no'} offset from UTC, unlike line {self._first.line}"
            cure = "write all times in the same way"
            self._problems.append(
                Problem(file=self._name, line=row.line, key="time", value=text[:40], rule=rule, cure=cure)
            )
            return None
        if offset is not None and self._offset is not None:
            stamp = stamp.replace(tzinfo=None) - offset + self._offset
        return stamp


def _reading(row: Row, column: str, name: str, problems: list[Problem]) -> float:
    low, high = RANGES[column]
    text = row.cells.get(column, "")
    value = number_in(text, low, high)
    if isinstance(value, tuple):
        rule, cure = value
        problems.append(Problem(file=name, line=row.line, key=column, value=text[:40], rule=rule, cure=cure))
        return float("nan")
    return value


def _check_order(stamps: list[datetime], lines: list[int], hours: Hours, name: str, *, fill: bool) -> None:
    """Report times that do not rise; a step back of one hour early on a Sunday is named as the end of summer time."""
    step = _usual_step(stamps)
    for position, (before, after) in enumerate(pairwise(stamps), start=1):
        if after > before:
            continue
        value, line = f"{after:%Y-%m-%d %H:%M}", lines[position]
        if before + step - after == timedelta(hours=1) and is_clock_change(value):
            rule = "stands twice: looks like the end of summer time"
            cure = 'set the logger to standard time all year, or say gaps = "interpolate" to have the hour averaged'
            if fill:
                hours.notes.append(
                    f"{name}:{line}: the hour {value} stands twice (end of summer time) and was averaged"
                )
                continue
        elif after == before:
            rule, cure = f"stands twice, first in line {lines[position - 1]}", "delete one of the rows"
        else:
            rule = f"is earlier than line {lines[position - 1]}, {before:%Y-%m-%d %H:%M}"
            cure = "sort the rows by time"
        hours.problems.append(Problem(file=name, line=line, key="time", value=value, rule=rule, cure=cure))


def _usual_step(stamps: list[datetime]) -> timedelta:
    steps = sorted(after - before for before, after in pairwise(stamps) if after > before)
    return steps[len(steps) // 2] if steps else timedelta(hours=1)


def _into_hours(
    stamps: list[datetime], lines: list[int], values: dict[str, list[float]], hours: Hours, name: str
) -> None:
    """Average the readings of each hour, and cut to whole years."""
    first, last = stamps[0], stamps[-1]
    if first.hour != 0:
        begin = (first + timedelta(days=1)).date()
        rule = f"the first reading is at {first:%H:%M}, not in the first hour of a day"
        cure = f"delete the rows before {begin} 00:00"
        hours.problems.append(Problem(file=name, line=lines[0], key="time", rule=rule, cure=cure))
    if last.hour != HOURS_PER_DAY - 1:
        rule = f"the last reading is at {last:%H:%M}, not in the last hour of a day"
        hours.problems.append(
            Problem(file=name, line=lines[-1], key="time", rule=rule, cure=f"delete the rows from {last.date()} 00:00")
        )
    days = (last.date() - first.date()).days + 1
    if days > LONGEST_DAYS:
        rule = f"the readings span {days} days, at most {LONGEST_DAYS} allowed"
        hours.problems.append(Problem(file=name, line=lines[-1], key="time", rule=rule, cure="check the years"))
        return
    dates = [first.date() + timedelta(days=day) for day in range(days)]
    kept = [day for day, when in enumerate(dates) if (when.month, when.day) != (2, 29)]
    years = len(kept) // DAYS_IN_YEAR
    if years == 0:
        rule = f"covers {len(kept)} days without 29 February, a year needs {DAYS_IN_YEAR}"
        cure = 'add readings, or use source = "seasonal" with the mean and swing of what there is'
        hours.problems.append(Problem(file=name, line=lines[-1], key="time", rule=rule, cure=cure))
        return
    if hours.problems:
        return
    if len(kept) < days:
        hours.notes.append(f"{name}: {days - len(kept)} days of 29 February left out")
    over = len(kept) - years * DAYS_IN_YEAR
    if over:
        hours.notes.append(f"{name}: the last {over} days left out, beyond {years} whole years")
    kept = kept[: years * DAYS_IN_YEAR]
    _average(stamps, lines, values, hours, dates, kept)


def _average(
    stamps: list[datetime],
    lines: list[int],
    values: dict[str, list[float]],
    hours: Hours,
    dates: list[date],
    kept: list[int],
) -> None:
    midnight = datetime.combine(dates[0], datetime.min.time())
    minutes = np.array([(stamp - midnight) // timedelta(minutes=1) for stamp in stamps], dtype=np.int64)
    place = minutes // MINUTES_PER_HOUR
    size = len(dates) * HOURS_PER_DAY
    chosen = (np.array(kept)[:, None] * HOURS_PER_DAY + np.arange(HOURS_PER_DAY)).ravel()
    means = {}
    for column, readings in values.items():
        array = np.array(readings)
        present = ~np.isnan(array)
        total = np.bincount(place[present], weights=array[present], minlength=size)
        count = np.bincount(place[present], minlength=size)
        mean = np.divide(total, count, out=np.full(size, np.nan), where=count > 0)
        means[column] = mean[chosen]
    row_before = np.searchsorted(minutes, chosen * MINUTES_PER_HOUR, side="right") - 1
    hours.temp_c, hours.rh_pct = means["temp_c"], means["rh_pct"]
    hours.lines = [lines[max(int(row), 0)] for row in row_before]
    hours.labels = [f"{midnight + timedelta(minutes=int(hour) * MINUTES_PER_HOUR):%Y-%m-%d %H:%M}" for hour in chosen]
    hours.first_day_of_year = day_of_plain_year(dates[kept[0]])


def day_of_plain_year(when: date) -> int:
    """Day of a year without 29 February, 1 for 1 January."""
    after_leap_day = when.month > 2 and date(when.year, 3, 1) - date(when.year, 2, 28) == timedelta(days=2)
    return when.timetuple().tm_yday - int(after_leap_day)
