"""The candidates of a search: every base plan with every combination of the values that concern it."""

from dataclasses import replace
from pathlib import Path

import pytest

from simstore.errors import SimstoreError
from simstore.plans.candidates import Candidate, candidates_of, derived_search, value_at
from simstore.scenario.reading.load import load_scenario, scenario_from_toml_text
from simstore.scenario.values.search_space import Search

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


@pytest.fixture(scope="module")
def tiny():
    return load_scenario(TINY)


def searching(scenario, **search):
    return replace(scenario, settings=scenario.settings.model_copy(update={"search": Search(**search)}))


def test_each_base_plan_gets_every_combination_of_its_own_and_the_common_values(tiny):
    vary = {
        "plans.quarterly.cadence_weeks": (6, 13),
        "plans.strip.cadence_weeks": (2, 4, 8),
        "ovens.small.count": (1, 2),
    }

    found = candidates_of(searching(tiny, plans=("quarterly", "strip"), vary=vary))

    assert len(found) == 2 * 2 + 3 * 2
    assert len(set(found)) == len(found)
    assert Candidate("quarterly") in found
    assert Candidate("strip", (("ovens.small.count", 2), ("plans.strip.cadence_weeks", 8))) in found


def test_what_equals_the_scenario_is_not_a_change(tiny):
    found = candidates_of(searching(tiny, plans=("quarterly",), vary={"stock.small.ready": (6, 20)}))

    assert [plan.changes for plan in found] == [(), (("stock.small.ready", 20),)]


def test_a_candidate_s_scenario_has_the_changes_and_the_base_plan_s_own(tiny):
    derived = Candidate("two_ovens", (("stock.small.ready", 9),)).scenario_of(tiny).settings

    assert (derived.ovens["small"].count, derived.stock["small"].ready) == (2, 9)
    assert list(derived.plans) == ["two_ovens"]


def test_a_candidate_makes_its_changes_wherever_they_stand(tiny):
    changes = {
        "ovens.small.count": 3,
        "plans.by_metal.cadence_weeks.iron": 5.0,
        "technicians.anna.sessions.1": "Fri 09:00-10:00",
    }

    made = Candidate("by_metal", tuple(changes.items())).scenario_of(tiny).settings

    assert {key: value_at(made, key) for key in changes} == changes


def test_a_space_that_is_too_large_is_refused_before_it_is_made(tiny):
    vary = {"stock.small.ready": tuple(range(100)), "ovens.small.count": (0, 1, 2)}

    with pytest.raises(SimstoreError, match="300 plans, more than 200"):
        candidates_of(searching(tiny, plans=("quarterly",), vary=vary, most=200))


def test_every_value_that_does_not_fit_is_named(tiny):
    vary = {"ovens.small.count": (1, 99), "plans.quarterly.cadence_weeks": (-1.0, 13.0)}

    with pytest.raises(SimstoreError, match=r"(?s)count = 99.*cadence_weeks = -1"):
        candidates_of(searching(tiny, plans=("quarterly",), vary=vary))


def test_a_scenario_without_a_search_space_gets_one_near_its_own_plans(tiny):
    vary = derived_search(tiny.settings).vary

    assert vary["plans.quarterly.cadence_weeks"] == (6.5, 13.0, 26.0)
    assert vary["plans.by_metal.cadence_weeks.iron"] == (4.0, 8.0, 16.0)
    assert vary["ovens.small.count"] == (1, 2)
    assert vary["technicians.anna.sessions.0"] == ("Tue 09:00-12:30", "Tue 09:00-14:30")
    assert candidates_of(tiny)


@pytest.mark.parametrize(
    ("lines", "match"),
    [
        ('plans = ["quartrely"]', "no such plan"),
        ('vary = { "ovens.smal.count" = [1, 2] }', "did you mean"),
        ('vary = { "metals.iron.standard_pct" = [90.0] }', "ceilings and standards"),
        ('vary = { "seed" = [1, 2] }', "share their luck"),
        ('vary = { "ovens.small.count" = [] }', "search"),
    ],
)
def test_mistakes_in_the_search_space_are_found_when_the_scenario_is_read(lines, match):
    text = (TINY / "scenario.toml").read_text()

    with pytest.raises(SimstoreError, match=match):
        scenario_from_toml_text(f"{text}\n[search]\n{lines}\n", folder=TINY)
