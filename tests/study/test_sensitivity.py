"""Uncertain inputs: their ranges, what they move, and what it is worth to know them."""

import math
from dataclasses import replace

import pytest

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.precision import Precision
from simstore.prose.answers.sensitivity import sensitivity_blocks, worth
from simstore.prose.terminal import text_of
from simstore.results.metrics import MetricValue
from simstore.scenario.values.uncertain import Uncertain
from simstore.study.sensitivity.effects import BASE, COST, movers, sensitivity
from simstore.study.sensitivity.inputs import COMMON, inputs_of
from simstore.study.sensitivity.knowing import Judged, Knowing, best_of, object_days_short, value_of

LEAK = "kinds.clip_box.layers.0.leak_per_day.median"


def stating(scenario, **uncertain):
    return replace(scenario, settings=scenario.settings.model_copy(update={"uncertain": uncertain}))


@pytest.fixture(scope="module")
def leaky(tiny):
    changed = tiny.with_changes({LEAK: 4.0, "days": 150})
    leak = Uncertain(keys=(LEAK,), low=2.0, high=8.0, label="leak of boxes", source="our own survey")
    return stating(changed, box_leak=leak)


@pytest.fixture(scope="module")
def found(leaky):
    return sensitivity(
        Bench(leaky), "quarterly", Precision(replications=2, half_widths={}), decide=2, plans=["by_metal"], morris=1
    )


def test_a_stated_range_takes_the_place_of_the_common_one(leaky):
    inputs, notes = inputs_of(leaky, "quarterly")

    by_name = {one.name: one for one in inputs}
    assert inputs[0].name == "box_leak"
    assert "leak_clip_box" not in by_name
    assert by_name["box_leak"].changes(8.0) == {LEAK: 8.0}
    assert by_name["box_leak"].in_use == 4.0
    assert by_name["box_leak"].unit == "per day"
    assert by_name["climate"].in_use == 0.0
    assert by_name["wages"].changes(1.2) == {"technicians.anna.wage_per_h": pytest.approx(28.8)}
    assert by_name["leak_triple_bag"].stated.source == COMMON
    assert len(by_name["leak_triple_bag"].changes(1.0)) == 3
    assert notes == []


def test_misreading_matters_where_something_is_read_and_measured_leaks_where_they_are(tiny):
    forecast = tiny.with_changes({"plans.forecast.leak_knowledge": "measured"})

    assert "misreading" in {one.name for one in inputs_of(tiny, "strip")[0]}
    assert "misreading" not in {one.name for one in inputs_of(tiny, "quarterly")[0]}
    assert "leak_error" in {one.name for one in inputs_of(forecast, "forecast")[0]}


def test_what_the_plan_sets_itself_is_left_out_and_said(tiny):
    plan = tiny.settings.plans["two_ovens"].model_copy(update={"changes": {"prices.energy_per_kwh": 0.5}})
    own = replace(tiny, settings=tiny.settings.model_copy(update={"plans": {**tiny.settings.plans, "two_ovens": plan}}))

    inputs, notes = inputs_of(own, "two_ovens")

    assert "energy_price" not in {one.name for one in inputs}
    assert notes == ["price of electricity is left out: the plan 'two_ovens' sets it itself."]


def test_ends_at_which_the_scenario_is_not_valid_are_refused(tiny):
    wrong = stating(tiny, damp=Uncertain(keys=("climate.rh_mean_pct",), low=50.0, high=130.0))

    with pytest.raises(SimstoreError, match=r"rh_mean_pct = 130: .* in \[uncertain.damp\]"):
        inputs_of(wrong, "quarterly")


def test_leakier_boxes_hold_less(found):
    low, high = (found.effect("box_leak", end, "held_pct.iron").difference.mean for end in ("low", "high"))

    assert low >= 0.0 > high
    assert found.swing("box_leak", "held_pct.iron") == pytest.approx(low - high)


def test_wages_move_the_cost_by_their_share_and_nothing_else(found):
    low, high = (found.effect("wages", end, COST).difference.mean for end in ("low", "high"))
    settings = found.scenario.settings
    rate = settings.prices.discount_pct_per_year / 100.0
    # hours worked, and a quarter of an hour to put each enclosure to use, spread over its life by the factor A/P
    hours = found.summary[BASE]["staff_h"].estimate.mean
    for one in found.scenario.enclosures:
        growth = (1.0 + rate) ** settings.kinds[one.kind].life_years
        hours += 0.25 * rate * growth / (growth - 1.0)

    # 24 an hour, a tenth less and two tenths more
    assert low == pytest.approx(-2.4 * hours, abs=0.02)
    assert high == pytest.approx(4.8 * hours, abs=0.02)
    assert found.swing("wages", "held_pct.iron") == 0.0


def test_the_inputs_that_move_most_are_examined_from_both_rankings(found):
    first, second = movers(found, 2)

    assert found.swing(first, "held_pct.iron") == max(found.swing(one.name, "held_pct.iron") for one in found.inputs)
    assert found.swing(second, COST) == max(found.swing(one.name, COST) for one in found.inputs if one.name != first)
    assert {row.name for row in found.knowing} == {first, second}


def test_the_screening_ranks_a_leak_above_a_price(found):
    held = found.screened[0].effects.mean_absolute
    places = {one.name: place for place, one in enumerate(found.inputs)}

    assert held[places["box_leak"]] > held[places["energy_price"]] == 0.0


def test_the_value_of_knowing_is_what_choosing_again_gains():
    base = [Judged("a", 100.0, 0.0), Judged("b", 150.0, 0.0)]
    low = [Judged("a", 90.0, 0.0), Judged("b", 80.0, 0.0)]
    high = [Judged("a", 100.0, 40.0), Judged("b", 150.0, 0.0)]

    row = value_of("leak", base, low, high)

    # a falls short at the high end, so b is kept without knowing: 24 + 60 + 45 = 129 in the mean. With it 24 + 40 + 45
    # = 109 are paid, a where it is known to do: 20 are saved, and nothing falls short either way.
    assert row == ("leak", "b", "b", "a", "b", 0.0, pytest.approx(20.0), pytest.approx(math.nan, nan_ok=True))
    assert row.changes_decision
    assert row.is_worth_something

    # a day over counted as 1: a costs 27 + 40 + 0.3 (100 + 40) = 109, b 129; with it 24 + 40 + 42 = 106, and 12 days short
    priced = value_of("leak", base, low, high, 1.0)
    assert priced == ("leak", "a", "b", "a", "a", 0.0, pytest.approx(3.0), pytest.approx(3.0))


def test_knowing_is_held_against_the_best_in_the_mean_and_not_against_the_best_at_the_values_in_use():
    """Expected value of perfect information by hand (Raiffa 1968): the mean of the best less the best of the means."""
    low, base, high = ([Judged("a", cost, 0.0), Judged("b", 11.0, 0.0)] for cost in (20.0, 10.0, 20.0))

    row = value_of("leak", base, low, high)

    # a 0.3 x 20 + 0.4 x 10 + 0.3 x 20 = 16, b 11: b is kept; knowing spares 11 - 10 with the value in use, weight 0.4
    assert (row.now, row.at_low, row.in_use, row.at_high) == ("b", "b", "a", "b")
    assert row.money == pytest.approx(0.40)


def test_knowing_what_changes_no_choice_is_worth_nothing():
    base = [Judged("a", 100.0, 0.0), Judged("b", 150.0, 0.0)]

    row = value_of("wage", base, base, base)

    assert (row.object_days, row.money, row.changes_decision) == (0.0, 0.0, False)
    assert not row.is_worth_something


def test_the_cheapest_that_falls_short_of_nothing_is_chosen_else_the_least_short():
    assert best_of([Judged("a", 1.0, 5.0), Judged("b", 9.0, 0.0), Judged("c", 8.0, 0.0)]).plan == "c"
    assert best_of([Judged("a", 1.0, 5.0), Judged("b", 9.0, 4.0)]).plan == "b"


def test_object_days_short_are_counted_by_metal(tiny):
    rows = [
        (MetricValue("held_pct.copper", "%", 99.0), MetricValue("held_pct.iron", "%", share)) for share in (93.0, 95.0)
    ]
    objects = sum(row.objects for row in tiny.enclosures if row.metal == "iron")

    # mean 94 % against a standard of 95 %: 1 % of all object-days of iron, and copper has nothing to make up
    assert object_days_short(rows, tiny) == pytest.approx(0.01 * objects * 365)


def test_the_words_say_what_to_measure_or_that_nothing_decides(found):
    words = text_of(sensitivity_blocks(found))
    first = found.first_to_measure

    assert max(map(len, words.splitlines())) <= 80
    assert words.startswith("Measure this first" if first else words[:1])
    row = Knowing("box_leak", "quarterly", "by_metal", "quarterly", "quarterly", 30.0, 12.0)
    told = " ".join(text_of(sensitivity_blocks(replace(found, knowing=[row]))).split())
    assert told.startswith(
        "Measure this first: leak of boxes. Knowing it is worth 30 object-days over a year that are avoided and 12 EUR "
        "a year, because another plan than 'quarterly' would be chosen: 'by_metal' at 2 per day."
    )
    worthless = Knowing("box_leak", "quarterly", "quarterly", "quarterly", "quarterly", 0.0, 0.0)
    for rows, said in (
        ([worthless] * 4, "but none of the 4 inputs that move most changes which plan is chosen ('quarterly')."),
        ([worthless], "but the input that moves most does not change which plan is chosen ('quarterly')."),
        ([worthless._replace(at_low="by_metal")], "but knowing the input that moves most gains nothing over the plan"),
    ):
        none = " ".join(text_of(sensitivity_blocks(replace(found, knowing=rows, screened=[]))).split())
        assert none.startswith("Leak of boxes moves the held share of iron under 'quarterly' most")
        assert said in none


def test_the_worth_is_said_with_its_price(found):
    row = Knowing("x", "a", "b", "a", "b", 12.0, -30.0)

    assert worth(found, row) == "12 object-days over a year that are avoided for 30 EUR a year more"
    assert worth(found, row._replace(object_days=0.0, money=0.2)) == "less than 1 object-day or unit of money a year"


def test_with_one_plan_there_is_nothing_to_choose(tiny):
    one = replace(
        tiny, settings=tiny.settings.model_copy(update={"plans": {"quarterly": tiny.settings.plans["quarterly"]}})
    )

    alone = sensitivity(Bench(one), "quarterly", Precision(replications=1, half_widths={}))

    assert alone.knowing == []
    assert alone.first_to_measure is None
    assert "moves the" in " ".join(text_of(sensitivity_blocks(alone)).split())
