from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.scenario.values.sessions import WEEKDAYS, longest_attendance_min, parse_session


@pytest.mark.parametrize(
    ("text", "session"),
    [
        ("Tue 09:00-12:30", (1, 540, 750)),
        ("Mon 0:00-24:00", (0, 0, 1440)),
        ("  sunday 8:05 – 9:00 ", (6, 485, 540)),
    ],
)
def test_a_session_is_a_weekday_and_two_minutes(text, session):
    assert parse_session(text) == session


@given(day=st.integers(0, 6), start=st.integers(0, 1438), length=st.integers(1, 1440))
def test_every_session_of_a_day_is_read_back(day, start, length):
    end = min(start + length, 1440)
    text = f"{WEEKDAYS[day]} {start // 60:02d}:{start % 60:02d}-{end // 60:02d}:{end % 60:02d}"

    assert parse_session(text) == (day, start, end)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is not a session"),
        ("Tue 9-12", "is not a session"),
        ("Tu 09:00-12:00", "is not a weekday"),
        ("Tue 09:60-12:00", "09:60 is not a time of day"),
        ("Tue 09:00-24:01", "24:01 is not a time of day"),
        ("Tue 09:00-09:00", "ends before it starts"),
        ("Fri 22:00-02:00", "past midnight is two sessions"),
    ],
)
def test_anything_else_is_refused_with_a_reason(text, says):
    with pytest.raises(ValueError, match=says):
        parse_session(text)


@pytest.mark.parametrize(
    ("sessions", "longest"),
    [
        ([], 0),
        ([(0, 540, 720)], 180),
        ([(0, 540, 720), (0, 720, 800)], 260),
        ([(0, 540, 720), (0, 600, 660)], 180),
        ([(0, 540, 720), (0, 721, 1000)], 279),
        ([(0, 540, 720), (1, 720, 1000)], 280),
    ],
)
def test_people_who_relieve_each_other_are_one_attendance(sessions, longest):
    assert longest_attendance_min(sessions) == longest
