from __future__ import annotations

from pathlib import Path

from simstore.scenario.reading.load import load_scenario, scenario_from_toml_text

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
TEXT = (TINY / "scenario.toml").read_text(encoding="utf-8")


def notes(text: str) -> str:
    return "\n".join(scenario_from_toml_text(text, folder=TINY).notes)


def test_a_scenario_without_pitfalls_has_no_notes():
    assert load_scenario(TINY).notes == ()


def test_an_indicator_that_turns_above_a_ceiling_is_said_to_be_too_late():
    # An orange indicator turns at 15 % water, about 22 %RH: too late for an iron ceiling of 12-15 %RH (supplier
    # figures and measured isotherms; see the source in the catalogue).
    own = notes(TEXT.replace('indicator = "strip_10"\n', ""))

    assert (
        "plan 'strip' reads 'orange', which begins to turn at 22 %RH: too late for 'iron' with its ceiling of 15 %RH"
        in own
    )
    assert "copper" not in own


def test_cobalt_in_the_gel_is_cautioned_with_gloves_mask_and_the_data_sheet():
    said = notes(TEXT.replace("price_per_kg = 12.0", 'price_per_kg = 12.0\nindicator = "cobalt_blue"'))

    for word in (
        "cobalt dichloride, a carcinogen",
        "gloves",
        "dust mask",
        "hazardous disposal",
        "safety data sheet",
        "local rules",
    ):
        assert word in said


def test_gel_without_a_price_is_said_to_be_left_out_of_the_costs():
    said = notes(TEXT.replace("price_per_kg = 12.0\n", ""))

    assert said == "[sorbents.narrow_pore_orange] has no price_per_kg: costs leave the gel out"


def test_a_search_may_leave_out_the_quotes_of_its_dotted_keys():
    text = TEXT + "\n[search]\nplans = ['quarterly']\n[search.vary]\novens.small.count = [1, 2]\n"

    assert scenario_from_toml_text(text, folder=TINY).settings.search.vary == {"ovens.small.count": (1, 2)}


def test_what_was_done_to_a_climate_file_is_a_note_of_the_scenario(tmp_path):
    rows = [
        f"2025-{month:02d}-{day:02d} {hour:02d}:00,{16 + hour / 10:.1f},{50 - hour / 10:.1f}"
        for month, days in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), 1)
        for day in range(1, days + 1)
        for hour in range(24)
    ]
    del rows[100]
    (tmp_path / "register.csv").write_bytes((TINY / "register.csv").read_bytes())
    (tmp_path / "room.csv").write_text("\n".join(["time,temp_c,rh_pct", *rows]), encoding="utf-8")
    text = TEXT.replace('source = "seasonal"', 'source = "logger"\nfile = "room.csv"\ngaps = "previous"')
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    scenario = load_scenario(tmp_path)

    assert scenario.notes == ("room.csv: 1 missing hours filled from the hour before",)
    assert scenario.air.temp_c.shape == (8760,)
    assert [file.name for file in scenario.files] == ["scenario.toml", "register.csv", "room.csv"]
