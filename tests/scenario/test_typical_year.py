"""EPW and TMY3 files against an independent reader (pvlib), on the two measured years that come with it."""

from __future__ import annotations

import calendar
import importlib.resources
import io
import time

import numpy as np
import pvlib
import pytest

from simstore.scenario.reading.air_file import read_air
from simstore.scenario.values.room import Climate

TMY3 = ("703165TY.csv", "723170TYA.CSV")
EPW_HEADER = [
    "LOCATION,Nowhere,-,XX,demo,000000,50.0,0.0,0.0,10.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,invented",
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
]


def measured(name):
    return importlib.resources.files("pvlib").joinpath("data", name).read_bytes()


def read(content, source, gaps="refuse"):
    air, problems, notes = read_air(content, "year", Climate(source=source, file="year", gaps=gaps))
    return air, [str(problem) for problem in problems], notes


def epw_lines(year=2003):
    """An EPW file with invented values; all months from one year, or from several as real files have them."""
    lines = list(EPW_HEADER)
    hour = 0
    for month in range(1, 13):
        for day in range(1, calendar.monthrange(year, month)[1] + 1):
            for clock in range(1, 25):
                temp, rh = f"{(hour % 311) / 10 - 5:.1f}", str(30 + hour % 61)
                fields = [str(1980 + month), str(month), str(day), str(clock), "0", "?9", temp, "5.0", rh, "101325"]
                lines.append(",".join(fields + ["0"] * 25))
                hour += 1
    return lines


def epw(lines):
    return ("\n".join(lines) + "\n").encode("latin-1")


def with_field(lines, row, field, text):
    changed = list(lines)
    fields = changed[row].split(",")
    fields[field] = text
    changed[row] = ",".join(fields)
    return changed


@pytest.mark.parametrize("name", TMY3)
def test_tmy3_dry_bulb_and_humidity_equal_those_of_pvlib_exactly(name):
    air, problems, _ = read(measured(name), "tmy3")
    path = importlib.resources.files("pvlib").joinpath("data", name)
    expected, _ = pvlib.iotools.read_tmy3(str(path), coerce_year=1990, map_variables=False)

    assert problems == []
    assert air.temp_c.shape == (8760,)
    np.testing.assert_array_equal(air.temp_c, expected["Dry-bulb (C)"].to_numpy())
    np.testing.assert_array_equal(air.rh_pct, expected["RHum (%)"].to_numpy())


def test_hours_in_which_dew_point_and_humidity_disagree_are_noted_and_kept():
    _, _, notes = read(measured("723170TYA.CSV"), "tmy3")

    # Known of this file beforehand: the two disagree by up to 33 %RH.
    assert any("worst 33 %RH" in note and "is used as it stands" in note for note in notes)
    assert any("outdoor weather taken as the air of the room; [climate.room] puts" in note for note in notes)


def test_epw_dry_bulb_and_humidity_equal_those_of_pvlib_exactly():
    content = epw(epw_lines())
    air, problems, _ = read(content, "epw")
    expected, _ = pvlib.iotools.read_epw(io.StringIO(content.decode("latin-1")), coerce_year=1990)

    assert problems == []
    np.testing.assert_array_equal(air.temp_c, expected["temp_air"].to_numpy())
    np.testing.assert_array_equal(air.rh_pct, expected["relative_humidity"].to_numpy())


def test_a_leap_year_loses_its_29th_of_february_with_a_note():
    air, problems, notes = read(epw(epw_lines(2004)), "epw")
    lines = epw_lines(2004)[8:]
    expected = [float(line.split(",")[6]) for line in lines if line.split(",")[1:3] != ["2", "29"]]

    assert problems == []
    assert air.temp_c.tolist() == expected
    assert "year: 29 February left out" in notes


def test_letters_of_latin_1_in_the_header_are_no_obstacle():
    lines = epw_lines()
    lines[0] = lines[0].replace("Nowhere", "Nírgends")

    assert read(epw(lines), "epw")[1] == []


@pytest.mark.parametrize(("field", "code"), [(6, "99.9"), (8, "999")])
def test_missing_codes_are_gaps(field, code):
    lines = with_field(epw_lines(), 500, field, code)
    _, problems, _ = read(epw(lines), "epw")

    assert len(problems) == 1
    assert problems[0].startswith("year:501: time: month 1 day 21 hour 13 is missing; say gaps")

    air, problems, notes = read(epw(lines), "epw", "previous")
    before = epw_lines()[499].split(",")[field]

    assert problems == []
    assert (air.temp_c if field == 6 else air.rh_pct)[492] == float(before)
    assert "year: 1 missing hours filled from the hour before" in notes


def test_humidity_a_little_above_saturation_is_taken_as_saturation_with_a_note():
    air, problems, notes = read(epw(with_field(epw_lines(), 500, 8, "103")), "epw")

    assert problems == []
    assert air.rh_pct[492] == 100.0
    assert "year: 1 hours above 100 %RH taken as 100 %RH" in notes


@pytest.mark.parametrize(
    ("field", "text", "says"),
    [
        (6, "warm", "year:501: dry bulb = warm: is not a number"),
        (6, "616", "year:501: dry bulb = 616: is out of range, -70..70"),
        (8, "-5", "year:501: relative humidity = -5: is out of range, 0..110"),
        (7, "x", "year:501: dew point = x: is not a number"),
        (3, "7", "year:501: month 1 day 21 hour 7: is out of order, expected month 1 day 21 hour 13"),
        (1, "Feb", "is out of order"),
    ],
)
def test_a_bad_field_is_named_with_its_line(field, text, says):
    _, problems, _ = read(epw(with_field(epw_lines(), 500, field, text)), "epw")

    assert len(problems) == 1
    assert says in problems[0]


def test_a_file_that_was_cut_short_is_refused():
    lines = epw_lines()[:4605]
    lines[-1] = lines[-1][:30]
    _, problems, _ = read(epw(lines), "epw")

    assert problems[0].startswith("year:4605: ")
    assert "fields, must have 35; get the file again" in problems[0]
    assert "year:4605: has 4596 sound hours, a year has 8760 (or 8784)" in problems[1]


def test_a_blank_row_is_named():
    lines = epw_lines()
    lines[700] = ""

    assert read(epw(lines), "epw")[1][0] == "year:701: is a blank row; delete it"


@pytest.mark.parametrize("content", [b"", b"time,temp_c,rh_pct\n2025-01-01 00:00,1,2\n"])
def test_a_file_of_another_format_is_refused(content):
    assert "is not an EPW file: its first line must begin with LOCATION," in read(content, "epw")[1][0]
    assert "is missing from the second line of a TMY3 file; " in read(content, "tmy3")[1][0]


def test_a_tmy3_row_of_another_width_is_named():
    lines = measured(TMY3[0]).decode("latin-1").splitlines()
    lines[99] = lines[99][:100]
    _, problems, _ = read("\n".join(lines).encode("latin-1"), "tmy3")

    assert problems[0].startswith("year:100: has ")
    assert len(problems) == 2


def test_a_tmy3_value_that_is_missing_is_a_gap():
    lines = measured(TMY3[0]).decode("latin-1").splitlines()
    column = lines[1].split(",").index("RHum (%)")
    lines = with_field(lines, 99, column, "-9900")

    assert (
        "year:100: time: month 01 day 01".replace("01 day 01", "01 day 05")
        in read("\n".join(lines).encode("latin-1"), "tmy3")[1][0]
    )


@pytest.mark.parametrize("line", [1, 2, 500])
def test_an_open_quote_in_a_tmy3_file_is_refused_at_once(line):
    lines = measured("723170TYA.CSV").decode("latin-1").splitlines()
    lines[line] = '"' + lines[line]
    begun = time.monotonic()
    _, problems, _ = read("\n".join(lines).encode("latin-1"), "tmy3")
    assert problems
    assert time.monotonic() - begun < 10.0
    assert max(len(str(problem)) for problem in problems) < 2000
