"""Typical years: EPW and TMY3 files, read by row number because their months come from different years.

Both formats give the hour that has just ended, 1 to 24, so that row number n is the hour from n to n + 1 of the year.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from simstore.errors import Problem
from simstore.scenario.checking.finding import suggestion
from simstore.scenario.reading.hours import Hours, number_in
from simstore.units import HOURS_PER_DAY

PLAIN_HOURS = 8760
LEAP_HOURS = 8784
EPW_HEADER_LINES = 8
EPW_FIELDS = 35
EPW_MONTH, EPW_DAY, EPW_HOUR, EPW_TEMP, EPW_DEW, EPW_RH = 1, 2, 3, 6, 7, 8
EPW_MISSING = {"temp": 99.9, "dew": 99.9, "rh": 999.0}
TMY3_MISSING = -9900.0
TMY3_COLUMNS = ("Date (MM/DD/YYYY)", "Time (HH:MM)", "Dry-bulb (C)", "Dew-point (C)", "RHum (%)")
TEMP_RANGE = (-70.0, 70.0)
RH_RANGE = (0.0, 110.0)
DISAGREEMENT_PCT = 10.0
"""Dew points are given to 1 degC in older files, which alone moves the humidity by some 7 %RH."""
# Magnus form over water; coefficients as in WMO-No. 8, value from memory, unverified. Used for screening only.
MAGNUS_SLOPE = 17.62
MAGNUS_OFFSET_C = 243.12


@dataclass(frozen=True, slots=True)
class _Hour:
    """One row of a typical year as text."""

    line: int
    month: str
    day: str
    hour: str
    temp: str
    dew: str
    rh: str


def read_epw(data: bytes, name: str, *, fill: bool) -> Hours:
    """Hourly dry bulb and relative humidity of an EPW file; gaps are left to the caller whatever ``fill`` says."""
    del fill
    hours = Hours()
    lines = data.decode("latin-1").splitlines()
    if not lines or not lines[0].lstrip("\ufeff").startswith("LOCATION,"):
        first = lines[0][:40] if lines else ""
        rule = "is not an EPW file: its first line must begin with LOCATION,"
        cure = 'check climate.source; for a CSV of readings say source = "logger"'
        hours.problems.append(Problem(file=name, line=1, value=first, rule=rule, cure=cure))
        return hours
    rows: list[_Hour] = []
    for number, line in enumerate(lines[EPW_HEADER_LINES:], start=EPW_HEADER_LINES + 1):
        cells = [cell.strip() for cell in line.split(",")]
        if cells == [""]:
            hours.problems.append(Problem(file=name, line=number, rule="is a blank row", cure="delete it"))
        elif len(cells) != EPW_FIELDS:
            rule = f"has {len(cells)} fields, must have {EPW_FIELDS}"
            hours.problems.append(
                Problem(
                    file=name, line=number, value=line[:40], rule=rule, cure="get the file again, it may be cut short"
                )
            )
        else:
            picked = (cells[i] for i in (EPW_MONTH, EPW_DAY, EPW_HOUR, EPW_TEMP, EPW_DEW, EPW_RH))
            rows.append(_Hour(number, *picked))
    _read_year(rows, hours, name, len(lines), EPW_MISSING)
    return hours


def read_tmy3(data: bytes, name: str, *, fill: bool) -> Hours:
    """Hourly dry bulb and relative humidity of a TMY3 file; gaps are left to the caller whatever ``fill`` says."""
    del fill
    hours = Hours()
    lines = data.decode("latin-1").splitlines()
    # No field below the station's name is ever quoted, so that a stray quote must not swallow the lines that follow.
    header = lines[1].split(",") if len(lines) > 1 else []
    absent = [column for column in TMY3_COLUMNS if column not in header]
    if absent:
        hours.problems.extend(
            Problem(
                file=name,
                line=min(2, max(len(lines), 1)),
                key=column,
                rule="column is missing from the second line of a TMY3 file",
                cure=suggestion(column, header, known_as="check climate.source; columns there")
                if header
                else "check climate.source",
            )
            for column in absent
        )
        return hours
    places = [header.index(column) for column in TMY3_COLUMNS]
    rows: list[_Hour] = []
    for number, line in enumerate(lines[2:], start=3):
        cells = line.split(",")
        if len(cells) != len(header):
            rule = f"has {len(cells)} fields, the header has {len(header)}"
            hours.problems.append(
                Problem(file=name, line=number, rule=rule, cure="get the file again, it may be cut short")
            )
            continue
        when, clock, temp, dew, rh = (cells[place].strip() for place in places)
        month, _, rest = when.partition("/")
        rows.append(_Hour(number, month, rest.partition("/")[0], clock.partition(":")[0], temp, dew, rh))
    missing = {"temp": TMY3_MISSING, "dew": TMY3_MISSING, "rh": TMY3_MISSING}
    _read_year(rows, hours, name, len(lines), missing)
    return hours


def _read_year(rows: list[_Hour], hours: Hours, name: str, last_line: int, missing: dict[str, float]) -> None:
    """Check the number and order of the hours, read the numbers, drop 29 February."""
    misshapen = bool(hours.problems)
    if len(rows) not in (PLAIN_HOURS, LEAP_HOURS):
        rule = f"has {len(rows)} sound hours, a year has {PLAIN_HOURS} (or {LEAP_HOURS})"
        cure = "get the file again, it may be cut short"
        hours.problems.append(Problem(file=name, line=max(last_line, 1), rule=rule, cure=cure))
    leap = len(rows) == LEAP_HOURS
    if not misshapen:
        hours.problems.extend(_out_of_order(rows, name, leap=leap))
    columns = {}
    for column, (low, high), key in (
        ("temp", TEMP_RANGE, "dry bulb"),
        ("dew", TEMP_RANGE, "dew point"),
        ("rh", RH_RANGE, "relative humidity"),
    ):
        columns[column] = _numbers(rows, column, key, (low, high), missing[column], hours, name)
    if hours.problems:
        return
    kept = np.array([not (leap and row.month.lstrip("0") == "2" and row.day == "29") for row in rows])
    if leap:
        hours.notes.append(f"{name}: 29 February left out")
    temp_c, dew_c, rh_pct = (columns[column][kept] for column in ("temp", "dew", "rh"))
    _screen(temp_c, dew_c, rh_pct, hours, name)
    over = int(np.count_nonzero(rh_pct > 100.0))
    if over:
        hours.notes.append(f"{name}: {over} hours above 100 %RH taken as 100 %RH")
    hours.temp_c, hours.rh_pct = temp_c, np.minimum(rh_pct, 100.0)
    hours.lines = [row.line for row, keep in zip(rows, kept, strict=True) if keep]
    hours.labels = [f"month {r.month} day {r.day} hour {r.hour}" for r, keep in zip(rows, kept, strict=True) if keep]


def _out_of_order(rows: list[_Hour], name: str, *, leap: bool) -> Iterator[Problem]:
    """Yield the first row that is not the hour that its place in the file says."""
    first = date(2004 if leap else 2003, 1, 1)
    for position, row in enumerate(rows):
        when = first + timedelta(days=position // HOURS_PER_DAY)
        expected = (when.month, when.day, position % HOURS_PER_DAY + 1)
        found = tuple(int(text) if text.isdecimal() else -1 for text in (row.month, row.day, row.hour))
        if found != expected:
            month, day, hour = expected
            value = f"month {row.month} day {row.day} hour {row.hour}"
            rule = f"is out of order, expected month {month} day {day} hour {hour}"
            yield Problem(file=name, line=row.line, value=value, rule=rule, cure="hours go 1..24 from 1 January on")
            return


def _numbers(
    rows: list[_Hour], column: str, key: str, limits: tuple[float, float], missing: float, hours: Hours, name: str
) -> NDArray[np.float64]:
    """Numbers of one column, NaN where the file has its code for missing."""
    numbers = np.full(len(rows), np.nan)
    code = f"{missing:g}"
    for position, row in enumerate(rows):
        text: str = getattr(row, column)
        if text in (code, f"{missing:.1f}"):
            continue
        value = number_in(text, *limits)
        if isinstance(value, tuple):
            rule, cure = value
            hours.problems.append(Problem(file=name, line=row.line, key=key, value=text[:40], rule=rule, cure=cure))
        else:
            numbers[position] = value
    return numbers


def _screen(
    temp_c: NDArray[np.float64], dew_c: NDArray[np.float64], rh_pct: NDArray[np.float64], hours: Hours, name: str
) -> None:
    """Note the hours whose dew point says another humidity; the humidity is kept as the file has it."""
    exponent = MAGNUS_SLOPE * (dew_c / (MAGNUS_OFFSET_C + dew_c) - temp_c / (MAGNUS_OFFSET_C + temp_c))
    apart = np.abs(100.0 * np.exp(exponent) - rh_pct)
    count = int(np.count_nonzero(apart > DISAGREEMENT_PCT))
    if count:
        worst = float(np.nanmax(apart))
        hours.notes.append(
            f"{name}: in {count} hours dew point and relative humidity disagree by more than {DISAGREEMENT_PCT:g} %RH "
            f"(worst {worst:.0f} %RH); the relative humidity is used as it stands"
        )
