from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from simstore.errors import SimstoreError
from simstore.scenario.reading.load import load_scenario, scenario_from_toml_text

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


@pytest.fixture(scope="module")
def tiny():
    return load_scenario(TINY)


def test_changes_are_applied_before_checking():
    scenario = load_scenario(TINY, changes={"ovens.small.count": 3, "climate.shift_c": 2, "start": "2027-01-01"})

    assert scenario.settings.ovens["small"].count == 3
    assert scenario.settings.climate.shift_c == 2.0
    assert scenario.settings.start == date(2027, 1, 1)


def test_changing_after_reading_equals_changing_while_reading(tiny):
    changes = {
        "kinds.triple_bag.layers.1.leak_per_day.median": 5.0,
        "plans.by_metal.cadence_weeks.iron": 2,
        "tasks.gear_min": 9,
    }

    assert tiny.with_changes(changes).settings == load_scenario(TINY, changes=changes).settings


def test_a_plans_own_changes_leave_the_scenario_as_it_was(tiny):
    changed = tiny.under("two_ovens")

    assert changed.settings.ovens["small"].count == 2
    assert tiny.settings.ovens["small"].count == 1
    assert changed.enclosures == tiny.enclosures
    assert changed.files == tiny.files


def test_a_plan_without_changes_leaves_all_but_the_choice_of_plans(tiny):
    settings = tiny.under("quarterly").settings

    assert settings.plans == {"quarterly": tiny.settings.plans["quarterly"]}
    left = {"plans", "default_plan", "search"}
    assert settings.model_dump(exclude=left) == tiny.settings.model_dump(exclude=left)


def test_a_scenario_under_one_plan_cannot_be_taken_for_another(tiny):
    resolved = tiny.under("two_ovens")

    with pytest.raises(SimstoreError, match="there is no plan 'quarterly'"):
        resolved.under("quarterly")
    assert resolved.under("two_ovens").settings == resolved.settings


def test_more_changes_come_after_those_of_the_plan(tiny):
    resolved = tiny.under("two_ovens", {"ovens.small.count": 3, "stock.small.ready": 9})

    assert resolved.settings.ovens["small"].count == 3
    assert resolved.settings.stock["small"].ready == 9
    with pytest.raises(SimstoreError, match=r"(?s)^a try.*ovens\.small\.cuont"):
        tiny.under("two_ovens", {"ovens.small.cuont": 3}, what="a try")


def test_no_changes_are_the_scenario_itself(tiny):
    assert tiny.with_changes({}) is tiny


def test_a_plan_that_does_not_exist_is_refused_with_a_suggestion(tiny):
    with pytest.raises(SimstoreError, match=r"there is no plan 'quaterly'; did you mean 'quarterly'\?"):
        tiny.under("quaterly")


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("ovens.small.cuont", 2, r"ovens\.small\.cuont = 2: unknown key 'cuont'; did you mean 'count'\?"),
        ("oven.small.count", 2, r"oven\.small\.count = 2: unknown key 'oven'; did you mean 'ovens'\?"),
        ("ovens.big.count", 2, r"there is no 'big' in \[ovens\]; allowed here: small"),
        ("kinds.clip_box.layers.1.area_m2", 0.2, r"there is no part number 1; count from 0, there are 1"),
        ("ovens.small.count.x", 2, r"unknown key 'x'; nothing stands below this key"),
        ("ovens.small.count", "two", r"ovens\.small\.count = \"two\": is text, must be a whole number"),
        ("ovens.small.set_c", 180, r"ovens\.small\.set_c = 180: is hotter than"),
        ("start", "soon", r"start = \"soon\": is text, must be a date"),
        ("climate", "warm", r"climate = \"warm\": names a table, not one value; go on to a key: "),
    ],
)
def test_a_change_that_does_not_fit_is_refused_at_its_key(tiny, key, value, says):
    with pytest.raises(SimstoreError, match=says):
        tiny.with_changes({key: value})
    with pytest.raises(SimstoreError, match=rf"(?s)changes: .*{says}|changes: {says}"):
        load_scenario(TINY, changes={key: value})


@pytest.mark.parametrize("key", ["register", "climate.source", "climate.file", "climate.gaps"])
def test_keys_that_name_files_cannot_change_once_the_files_are_read(tiny, key):
    with pytest.raises(
        SimstoreError, match=rf"{key} = \"x\": cannot change once the files are read; edit the scenario"
    ):
        tiny.with_changes({key: "x"})


def test_a_change_that_breaks_a_row_of_the_register_names_the_enclosure(tiny):
    with pytest.raises(SimstoreError, match=r"enclosure 'B003' packets = 2|enclosure 'B003' volume_m3"):
        tiny.with_changes({"packets.small.gel_kg": 3.2, "ovens.small.trays": 8})


def test_changing_a_group_redraws_only_the_enclosures_of_the_groups(tiny):
    text = (TINY / "scenario.toml").read_text(encoding="utf-8")
    text += (
        '\n[[groups]]\nkind = "clip_box"\nmetal = "iron"\ncount = 3\nvolume_m3 = { median = 0.005, sigma_ln = 0.4 }\n'
    )
    scenario = scenario_from_toml_text(text, folder=TINY)
    larger = scenario.with_changes({"groups.0.count": 5})

    assert larger.enclosures[:12] == tiny.enclosures
    assert [row.volume_m3 for row in larger.enclosures[12:15]] == [row.volume_m3 for row in scenario.enclosures[12:]]
    assert len(larger.enclosures) == 17


def test_a_plan_may_leave_out_the_quotes_of_its_dotted_keys():
    text = (
        (TINY / "scenario.toml").read_text(encoding="utf-8").replace('"ovens.small.count" = 2', "ovens.small.count = 2")
    )
    scenario = scenario_from_toml_text(text, folder=TINY)

    assert scenario.settings.plans["two_ovens"].changes == {"ovens.small.count": 2}
