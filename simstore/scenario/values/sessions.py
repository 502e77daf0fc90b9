"""Weekly working times: "Tue 09:00-12:30" as a weekday and minutes of the day."""

from __future__ import annotations

import re
from collections.abc import Iterable

from simstore.units import MINUTES_PER_DAY, MINUTES_PER_HOUR

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_FULL = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SESSION = re.compile(r"\s*([A-Za-z]+)\s+(\d{1,2}):(\d{2})\s*[-–]\s*(\d{1,2}):(\d{2})\s*")

Session = tuple[int, int, int]
"""Weekday (0 for Monday), first minute of the day, minute after the last."""


def parse_session(text: str) -> Session:
    """Weekday and minutes of a session such as ``"Tue 09:00-12:30"``.

    Parameters
    ----------
    text : str
        A weekday (three letters or the whole English name) and two times of the same day; 24:00 is midnight at its end.

    Returns
    -------
    tuple of int
        Weekday 0..6 from Monday; start and end in minutes since midnight. [min]

    Raises
    ------
    ValueError
        If the text is not a session; the message is a sentence part such as "ends before it starts".
    """
    match = _SESSION.fullmatch(text)
    if match is None:
        msg = 'is not a session such as "Tue 09:00-12:30"'
        raise ValueError(msg)
    day = match.group(1).lower()
    weekday = next((n for n, full in enumerate(_FULL) if day in (full, full[:3])), None)
    if weekday is None:
        msg = f"'{match.group(1)}' is not a weekday; write one of {', '.join(WEEKDAYS)}"
        raise ValueError(msg)
    start_min = _minute(match.group(2), match.group(3))
    end_min = _minute(match.group(4), match.group(5))
    if end_min <= start_min:
        msg = "ends before it starts; a session past midnight is two sessions"
        raise ValueError(msg)
    return weekday, start_min, end_min


def _minute(hour: str, minute: str) -> int:
    total = int(hour) * MINUTES_PER_HOUR + int(minute)
    if int(minute) >= MINUTES_PER_HOUR or total > MINUTES_PER_DAY:
        msg = f"{hour}:{minute} is not a time of day"
        raise ValueError(msg)
    return total


def longest_attendance_min(sessions: Iterable[Session]) -> int:
    """Longest unbroken time that somebody is there, over the sessions of all people, in minutes."""
    longest, day, began, until = 0, -1, 0, 0
    for weekday, start_min, end_min in sorted(sessions):
        if weekday != day or start_min > until:
            day, began, until = weekday, start_min, end_min
        until = max(until, end_min)
        longest = max(longest, until - began)
    return longest
