"""Figures that are allowed but look like a slip of the unit are pointed out when a scenario is read."""

from __future__ import annotations

import math
import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from simstore.errors import SimstoreError
from simstore.scenario.reading.load import load_scenario, scenario_from_toml_text

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
WET_FINDS = """[[arrivals]]
arrives = 2026-03-02
kind = "clip_box"
metal = "iron"
count = 2
object_water_g = 900

"""
TEXT = (TINY / "scenario.toml").read_text(encoding="utf-8")


def notes(old, new):
    assert old in TEXT
    return "\n".join(scenario_from_toml_text(TEXT.replace(old, new, 1), folder=TINY).notes)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("ceiling_rh_pct = 15.0", "ceiling_rh_pct = 0.15", "metals.iron.ceiling_rh_pct = 0.15 looks like a share"),
        ("thickness_um = 100", "thickness_um = 0.1", "0.1 mm are 100 micrometres"),
        ("area_m2 = 0.18", "area_m2 = 0.02", "a wall of 0.02 m2 encloses"),
        (
            "leave = [[2026-08-03, 2026-08-14]]",
            "leave = [[2025-08-03, 2025-08-14]]",
            "leave from 2025-08-03 to 2025-08-14 lies outside the run",
        ),
        ("wage_per_h = 24.0", "wage_per_h = 2400.0", "wage_per_h = 2400 EUR an hour: it looks like cents"),
        (
            "cadence_weeks = 13",
            "cadence_weeks = 91",
            "plans.quarterly.cadence_weeks = 91 is 1.8 years; 91 days are 13 weeks",
        ),
        ("cadence_weeks = { iron = 8,", "cadence_weeks = { iron = 180,", "cadence_weeks.iron = 180 is 3.5 years"),
        (
            "leave = [[2026-08-03, 2026-08-14]]",
            "leave = [[2026-01-01, 2026-12-31]]",
            "nobody exchanges gel in the whole run",
        ),
        ("wage_per_h = 24.0", "wage_per_h = 24.0\nstarts = 2027-05-01", "nobody exchanges gel in the whole run"),
        (
            "[stock.small]",
            WET_FINDS + "[stock.small]",
            "arrivals.0.object_water_g = 900 g is more than the 250 g of gel beside it can take",
        ),
        (
            'rule = "forecast"',
            'rule = "forecast"\ntrigger_pct = 0.85',
            "plans.forecast.trigger_pct = 0.85 looks like a share",
        ),
    ],
)
def test_a_slip_of_the_unit_or_the_year_is_pointed_out(old, new, says):
    assert says in notes(old, new)


def test_a_mean_humidity_given_as_a_share_is_pointed_out():
    line = next(line for line in TEXT.splitlines() if line.startswith("rh_mean_pct"))

    assert "climate.rh_mean_pct = 0.6 looks like a share; it is in percent: 60" in notes(line, "rh_mean_pct = 0.6")


# A sphere of 0.1 m radius has a surface of 4 pi r^2 and a volume of 4/3 pi r^3; no body of that surface has more volume.
@pytest.mark.parametrize(("share", "noted"), [(0.99, False), (1.01, True)])
def test_the_most_that_a_wall_can_enclose_is_a_sphere(share, noted):
    area_m2, volume_m3 = 4 * math.pi * 0.1**2, share * 4 / 3 * math.pi * 0.1**3
    said = notes("volume_m3 = 0.005", f"volume_m3 = {volume_m3:.8f}")
    assert "[kinds.clip_box]" not in said  # its own wall is larger

    text = TEXT.replace("volume_m3 = 0.005", f"volume_m3 = {volume_m3:.8f}", 1)
    text = text.replace("area_m2 = 0.18", f"area_m2 = {area_m2:.8f}", 1)
    assert ("[kinds.clip_box] has a volume" in "\n".join(scenario_from_toml_text(text, folder=TINY).notes)) is noted


def test_rows_quite_unlike_their_kind_are_named(tmp_path):
    shutil.copytree(TINY, tmp_path / "store")
    register = tmp_path / "store" / "register.csv"
    text = register.read_text(encoding="utf-8")
    text = text.replace("B001,clip_box,iron,12,,", "B001,clip_box,iron,12,0.15,")
    register.write_text(text, encoding="utf-8")

    assert "volume_m3 in the register is quite unlike that of the kind: 'B001' (0.15, its kind 0.005)" in "\n".join(
        load_scenario(tmp_path / "store").notes
    )


def test_a_standard_given_as_a_share_is_refused():
    with pytest.raises(SimstoreError, match=r"standard_pct = 0.95.*looks like a share; give percent: 95"):
        scenario_from_toml_text(TEXT.replace("standard_pct = 95.0", "standard_pct = 0.95", 1), folder=TINY)


def test_the_shipped_stores_and_the_starter_have_no_odd_figure(tmp_path):
    for name in ("tiny", "river_depot"):
        noted = load_scenario(TINY.parent / name).notes
        assert not [note for note in noted if "looks like" in note or "longer than any" in note or "nobody" in note]


def measured(tmp_path, row):
    """Notes on the store with a year of hourly air whose rows are given by the hour."""
    lines = ["time,temp_c,rh_pct"]
    for n in range(8760):
        when = datetime(2025, 1, 1) + timedelta(hours=n)
        lines.append(f"{when:%Y-%m-%d %H:%M},{row(n)}")
    (tmp_path / "register.csv").write_bytes((TINY / "register.csv").read_bytes())
    (tmp_path / "room.csv").write_text("\n".join(lines), encoding="utf-8")
    text = TEXT.replace('source = "seasonal"', 'source = "logger"\nfile = "room.csv"', 1)
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    return load_scenario(tmp_path).notes


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (lambda n: f"{16 + n % 24 / 10:.1f},{0.5 + n % 24 / 100:.2f}", "it looks like shares"),
        (lambda n: f"{58 - n % 24 / 2:.1f},{16 + n % 24 / 10:.1f}", "have probably changed places"),
        (
            lambda n: f"{16 + n % 24 / 10:.1f},{51.3 if n > 8000 else 50 + n % 24 / 2:.1f}",
            "humidity stays at exactly 51.3",
        ),
    ],
)
def test_measured_air_that_looks_like_a_slip_is_pointed_out(tmp_path, row, says):
    assert says in "\n".join(measured(tmp_path, row))


def test_ordinary_measured_air_is_not_pointed_out(tmp_path):
    assert measured(tmp_path, lambda n: f"{16 + n % 24 / 10:.1f},{50 + n % 24 / 2:.1f}") == ()
