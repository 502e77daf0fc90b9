from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from simstore.scenario.reading.air_file import LONGEST_FILL_H, read_air
from simstore.scenario.values.room import Climate

FIRST = datetime(2025, 1, 1)
NAME = "room.csv"


def rows(first=FIRST, days=365, step_min=60):
    count = days * 1440 // step_min
    return [
        [f"{first + timedelta(minutes=step_min * n):%Y-%m-%d %H:%M}", f"{10 + n % 24 / 10:.1f}", f"{40 + n % 10}"]
        for n in range(count)
    ]


def data(table, header="time,temp_c,rh_pct"):
    return "\n".join([header, *(",".join(row) for row in table)]).encode()


def read(content, gaps="refuse"):
    air, problems, notes = read_air(content, NAME, Climate(source="logger", file=NAME, gaps=gaps))
    return air, [str(problem) for problem in problems], notes


def place(table, stamp):
    """Position of the first row of this time; its line is 2 more."""
    return next(n for n, row in enumerate(table) if row[0] == stamp)


def test_an_hourly_year_is_read_as_it_stands():
    table = rows()
    air, problems, notes = read(data(table))

    assert (problems, notes) == ([], [])
    assert air.temp_c.tolist() == [float(row[1]) for row in table]
    assert air.rh_pct.tolist() == [float(row[2]) for row in table]
    assert air.first_day_of_year == 1


def test_finer_readings_become_means_of_their_hours():
    table = rows(step_min=15)
    air, problems, _ = read(data(table))
    expected = np.array([float(row[1]) for row in table]).reshape(-1, 4).mean(axis=1)

    assert problems == []
    np.testing.assert_allclose(air.temp_c, expected, rtol=1e-12)


def test_a_year_may_begin_on_any_day_and_counts_days_without_the_29th_of_february():
    air, problems, notes = read(data(rows(first=datetime(2024, 3, 1))))

    assert problems == []
    assert air.first_day_of_year == 60  # 31 + 28 + 1
    assert notes == []


def test_the_29th_of_february_is_left_out_with_a_note():
    table = rows(first=datetime(2024, 1, 1), days=366)
    air, problems, notes = read(data(table))

    assert problems == []
    assert air.temp_c.size == 8760
    assert notes == ["room.csv: 1 days of 29 February left out"]
    assert air.rh_pct[59 * 24] == float(table[60 * 24][2])


def test_days_beyond_whole_years_are_left_out_with_a_note():
    air, problems, notes = read(data(rows(days=400)))

    assert (problems, air.temp_c.size) == ([], 8760)
    assert notes == ["room.csv: the last 35 days left out, beyond 1 whole years"]


def test_less_than_a_year_is_refused():
    _, problems, _ = read(data(rows(days=200)))

    assert len(problems) == 1
    assert problems[0].startswith(
        "room.csv:4801: time: covers 200 days without 29 February, a year needs 365; add readings"
    )


def test_times_with_an_offset_are_taken_to_the_clock_of_the_first_row():
    local = rows()
    for n, row in enumerate(local):
        summer = 2000 < n < 6000
        stamp = FIRST + timedelta(hours=n + (1 if summer else 0))
        row[0] = stamp.strftime("%Y-%m-%dT%H:%M") + ("+02:00" if summer else "+01:00")
    air, problems, _ = read(data(local))

    assert problems == []
    assert air.rh_pct.tolist() == [float(row[2]) for row in local]


def test_times_with_and_without_an_offset_are_refused():
    table = rows()
    table[100][0] += "+00:00"
    _, problems, _ = read(data(table))

    assert problems == [
        f"room.csv:102: time = {table[100][0]}: has an offset from UTC, unlike line 2; write all times in the same way"
    ]


@pytest.mark.parametrize("gaps", ["previous", "interpolate"])
def test_missing_hours_are_refused_unless_the_user_says_how_to_fill_them(gaps):
    table = rows()
    at = place(table, "2025-05-05 10:00")
    before, after = float(table[at - 1][1]), float(table[at + 3][1])
    del table[at : at + 3]
    _, problems, _ = read(data(table))

    assert problems == [
        (
            f"room.csv:{at + 1}: time: 3 hours are missing from 2025-05-05 10:00; "
            'say gaps = "interpolate" or "previous" in [climate] to have them filled'
        )
    ]

    air, problems, notes = read(data(table), gaps)

    assert problems == []
    if gaps == "previous":
        assert air.temp_c[at : at + 3].tolist() == [before] * 3
    else:
        np.testing.assert_allclose(air.temp_c[at : at + 3], before + (after - before) * np.array([0.25, 0.5, 0.75]))
    assert notes[0].startswith("room.csv: 3 missing hours filled from ")


def test_empty_and_nan_cells_are_gaps():
    table = rows()
    table[50][1], table[60][2] = "", "NaN"
    _, problems, _ = read(data(table))

    assert [text.split(";")[0] for text in problems] == [
        "room.csv:52: time: 2025-01-03 02:00 is missing",
        "room.csv:62: time: 2025-01-03 12:00 is missing",
    ]
    assert read(data(table), "previous")[1] == []


def test_a_gap_of_more_than_a_fortnight_is_never_filled():
    table = rows()
    at = place(table, "2025-05-05 10:00")
    exactly = table[:at] + table[at + LONGEST_FILL_H :]
    longer = table[:at] + table[at + LONGEST_FILL_H + 1 :]

    assert read(data(exactly), "interpolate")[1] == []
    assert "337 hours are missing from 2025-05-05 10:00, too long to fill" in read(data(longer), "interpolate")[1][0]


def test_a_gap_at_an_end_takes_the_nearest_value():
    table = rows()
    table[0][1], table[-1][1] = "", ""
    air, _, _ = read(data(table), "previous")

    assert air.temp_c[0] == float(table[1][1])
    assert air.temp_c[-1] == float(table[-2][1])


# Clocks in the European Union: forward on the last Sunday of March, back on the last Sunday of October
# (Directive 2000/84/EC): 30 March and 26 October 2025. United States (Energy Policy Act of 2005): 9 March, 2 November.
@pytest.mark.parametrize(
    ("spring", "autumn"), [("2025-03-30 01:00", "2025-10-26 01:00"), ("2025-03-09 02:00", "2025-11-02 01:00")]
)
@pytest.mark.parametrize("step_min", [60, 15])
def test_clocks_put_forward_and_back_are_named_as_such(spring, autumn, step_min):
    table = rows(step_min=step_min)
    forward, back = place(table, spring), place(table, autumn)
    per_hour = 60 // step_min
    table = table[:forward] + table[forward + per_hour : back + per_hour] + table[back:]
    line = back - per_hour + per_hour + 2
    _, problems, _ = read(data(table))

    assert problems[0].startswith(f"room.csv:{line}: time = {autumn}: stands twice: looks like the end of summer time")

    only_spring = rows(step_min=step_min)
    del only_spring[forward : forward + per_hour]
    _, problems, _ = read(data(only_spring))

    assert problems[0].startswith(
        f"room.csv:{forward + 1}: time: {spring} is missing: looks like the start of summer time"
    )

    air, problems, notes = read(data(table), "interpolate")

    assert problems == []
    assert air.temp_c.size == 8760
    assert any("stands twice (end of summer time) and was averaged" in note for note in notes)


def test_a_row_that_stands_twice_names_the_first_line():
    table = rows()
    table.insert(501, list(table[500]))
    _, problems, _ = read(data(table), "interpolate")

    assert problems == [
        f"room.csv:503: time = {table[500][0]}: stands twice, first in line 502; delete one of the rows"
    ]


def test_times_that_fall_are_refused():
    table = rows()
    table[500], table[501] = table[501], table[500]
    _, problems, _ = read(data(table), "interpolate")

    assert problems[0].startswith(f"room.csv:503: time = {table[501][0]}: is earlier than line 502")


@pytest.mark.parametrize(
    ("column", "text", "says"),
    [
        (1, "warm", "temp_c = warm: is not a number; correct it, or leave the cell empty"),
        (1, '"16,5"', "temp_c = 16,5: has a decimal comma; write 16.5"),
        (1, "616", "temp_c = 616: is out of range, -40..60"),
        (2, "101", "rh_pct = 101: is out of range, 0..100"),
        (2, "inf", "rh_pct = inf: is not a number"),
        (0, "03/04/2025 10:00", "time = 03/04/2025 10:00: is not a time; write it as 2026-01-31 14:00"),
        (0, "", "time: is empty; write it as 2026-01-31 14:00"),
        (0, "2025-02-30 10:00", "time = 2025-02-30 10:00: is not a time"),
    ],
)
def test_a_bad_cell_is_refused_with_line_and_value_even_where_gaps_are_filled(column, text, says):
    table = rows()
    table[700][column] = text
    _, problems, _ = read(data(table), "interpolate")

    assert [text for text in problems if f"room.csv:702: {says}" in text] == problems
    assert len(problems) == 1


def test_a_short_row_is_refused():
    table = rows()
    table[700] = table[700][:2]

    assert "room.csv:702: " in read(data(table))[1][0]
    assert "has 2 cells, the header has 3" in read(data(table))[1][0]


def test_many_faults_of_one_sort_are_counted_and_not_listed():
    table = [[stamp, "warm", rh] for stamp, _, rh in rows()]
    _, problems, _ = read(data(table))

    assert len(problems) == 6
    assert problems[-1].startswith(
        "room.csv:8761: temp_c: and 8755 more like the 5 before, the last in this line: is not a number"
    )


def test_part_days_at_the_ends_are_refused_with_the_rows_to_delete():
    _, problems, _ = read(data(rows(days=366)[5:-3]))

    assert problems == [
        "room.csv:2: time: the first reading is at 05:00, not in the first hour of a day; delete the rows before 2025-01-02 00:00",
        "room.csv:8777: time: the last reading is at 20:00, not in the last hour of a day; delete the rows from 2026-01-01 00:00",
    ]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "room.csv: is empty; begin with the header time,temp_c,rh_pct"),
        (b"time,temp_c,rh_pct\n", "room.csv:1: has a header but no rows; add the readings"),
        (b"time,temp,rh_pct\n2025-01-01 00:00,1,2\n", "room.csv:1: temp: unknown column; did you mean 'temp_c'?"),
        (b"time;temp_c;rh_pct\n", "is separated by semicolons"),
        (b"time,temp_c,rh_pct\n0001-01-01 00:00,1,2\n9998-12-31 23:00,1,2\n", "at most 14640 allowed; check the years"),
    ],
)
def test_a_file_that_is_no_years_readings_is_refused(content, says):
    assert any(says in text for text in read(content)[1])
