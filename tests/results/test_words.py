"""The words for the terminal say the answer first and say no more than the replications allow."""

import math
from dataclasses import replace

import pytest
from handmade import small_record, small_scenario

from simstore.prose.answers.run import plan_blocks
from simstore.prose.cautions import cautions
from simstore.prose.terminal import text_of
from simstore.results.columns import run_columns
from simstore.results.judged import verdict
from simstore.results.summary import summary_of
from simstore.results.tables import frames
from simstore.scenario.values.housing import Metal
from simstore.statistics.estimate import Estimate


def words(*records, scenario=None, replications=None):
    scenario = scenario or small_scenario()
    runs = [run_columns(replace(record, scenario=scenario.under(record.plan))) for record in records]
    plan = records[0].plan
    summary = summary_of(runs)[plan]
    said = plan_blocks(scenario.settings, plan, summary, frames(runs)["enclosures"], replications or len(records))
    return text_of([*said, *cautions([(summary, scenario.settings)])])


def good_record(replication=0):
    record = small_record(replication=replication)
    record.enclosures.held_days[:] = 4
    record.enclosures.day_mean_rh_pct[1] = 14.0
    record.enclosures.excess_pct_days[:] = 0
    record.enclosures.hours_over[:] = 0
    return record


def with_standard(pct):
    scenario = small_scenario()
    iron = scenario.settings.metals["iron"].model_copy(update={"standard_pct": pct})
    settings = scenario.settings.model_copy(update={"metals": {**scenario.settings.metals, "iron": iron}})
    return type(scenario)(settings=settings, enclosures=scenario.enclosures)


def test_a_failing_plan_is_named_first_with_metal_ceiling_share_and_standard():
    first = " ".join(words(small_record(), small_record(replication=1)).split("\n\n")[0].split())

    assert first == "Plan 'quarterly' does NOT keep iron under 15 %RH (81.25 % of object-days, standard 99 %)."


def test_a_plan_that_keeps_all_standards_is_said_to():
    text = words(good_record(), good_record(1))

    assert text.startswith("Plan 'quarterly' keeps every metal class under its ceiling")
    assert "in 2 of 2 simulated years" in text
    assert "No enclosure goes over its ceiling." in text


def test_where_the_replications_cannot_tell_the_words_say_so():
    text = words(good_record(), small_record(replication=1), scenario=with_standard(90.0))

    assert "too close to tell whether it keeps iron" in " ".join(text.split())
    assert "open" in text


@pytest.mark.parametrize(
    ("estimate", "expected"),
    [
        (Estimate(99.5, 99.0, 100.0), "met"),
        (Estimate(99.5, 98.9, 100.0), "open"),
        (Estimate(98.0, 97.0, 99.0), "open"),
        (Estimate(98.0, 97.0, 98.9), "NOT met"),
        (Estimate(99.0, math.nan, math.nan), "met"),
        (Estimate(98.9, math.nan, math.nan), "NOT met"),
    ],
)
def test_verdict_compares_the_whole_interval_with_the_standard(estimate, expected):
    assert verdict(estimate, Metal(label="x", ceiling_rh_pct=15, standard_pct=99)) == expected


def test_one_simulated_year_claims_no_interval():
    text = words(small_record())

    assert "All standards are not all met" not in text
    assert "not all standards are met in the one simulated year" in text.lower()
    assert " to " not in text.split("\n\n")[1].replace("95 % interval", "")


def test_the_worst_enclosure_is_named_with_its_leak_and_kind():
    text = " ".join(words(small_record()).split())

    # B-2 leaks 4.0 a day, B-1 1.0: the middle of the boxes is 2.5.
    assert (
        "B-2 (a box, iron): 9 %RH days over, up to 20 %RH; leaks 4 air changes a day, 1.6 times its kind's middle"
        in text
    )
    assert "B-1" not in text


def test_heating_handling_and_cobalt_carry_their_cautions_and_defer_to_local_rules():
    text = " ".join(words(small_record()).split())

    for part in ("Drying:", "Handling:", "Cobalt:", "licensed carrier", "your local rules"):
        assert part in text, part


def test_a_plan_that_neither_heats_nor_handles_carries_only_the_caution_about_cobalt():
    record = good_record()
    record.loads.clear()
    record.exchanges.clear()
    record.enclosures.exchanges[:] = 0
    text = words(record)

    assert "Drying:" not in text
    assert "Handling:" not in text
    assert "Cobalt:" in text


def test_without_hazard_there_are_no_cautions():
    record = good_record()
    record.loads.clear()
    record.exchanges.clear()
    record.enclosures.exchanges[:] = 0
    scenario = small_scenario()
    packets = {"p": scenario.settings.packets["p"]}
    record.stock = [row for row in record.stock if row.packet == "p"]
    kinds = {name: kind.model_copy(update={"packet": "p"}) for name, kind in scenario.settings.kinds.items()}
    stock = {"p": scenario.settings.stock["p"]}
    settings = scenario.settings.model_copy(update={"packets": packets, "kinds": kinds, "stock": stock})
    text = words(record, scenario=type(scenario)(settings=settings, enclosures=scenario.enclosures))

    assert "Cautions" not in text


def test_no_line_is_longer_than_80_characters():
    assert max(len(line) for line in words(small_record(), good_record(1)).splitlines()) <= 80


def test_a_share_never_rounds_up_to_what_it_is_not():
    record = good_record()
    record.enclosures.counted_days[:] = 100_000
    record.enclosures.held_days[:] = [100_000, 100_000, 99_999]

    assert " 99.99 %" in words(record)


def test_the_highest_humidity_is_that_of_the_worst_replication():
    damp = small_record(replication=1)
    damp.enclosures.worst_rh_pct[1] = 33.0
    text = " ".join(words(small_record(), damp).split())

    assert "up to 33 %RH" in text
    assert "the highest humidity is that of the worst one" in text


def test_cautions_of_several_plans_are_said_once():
    scenario = small_scenario()
    measured = summary_of([run_columns(small_record())])["quarterly"]
    twice = cautions([(measured, scenario.settings)] * 2)

    assert twice == cautions([(measured, scenario.settings)])
    assert text_of(twice).count("Drying:") == 1
