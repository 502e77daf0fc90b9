"""Money over years: what is bought, what wears out, and when a dear beginning has paid for itself."""

import numpy as np
import pytest
from handmade import small_scenario

from simstore.money.changeover import Changeover, Purchase, break_even_year, changeover, cumulative_cost
from simstore.money.costs import mean_wage_per_h
from simstore.scenario.values.plan import Programme


def with_programme(scenario, replace, rehouse_min=20.0):
    from dataclasses import replace as replaced

    settings = scenario.settings
    plan = settings.plans["quarterly"].model_copy(update={"programme": "other"})
    update = {
        "programmes": {"other": Programme(label="other", replace=replace, rehouse_min=rehouse_min)},
        "plans": {**settings.plans, "moved": plan},
    }
    return replaced(scenario, settings=settings.model_copy(update=update))


NOTHING = Changeover(moved=0, labour_h=0.0, labour_price=0.0, goods_price=0.0, purchases=())


# Source: factor table for i = 4 %, n = 20 in engineering-economics handbooks: P/A = 13.5903 (value from memory,
# unverified against print).
def test_the_sum_of_equal_payments_is_the_printed_present_worth_factor():
    paid, total = cumulative_cost(NOTHING, 1000.0, discount_pct=4.0)

    assert paid[0] == 0.0
    assert total[20] == pytest.approx(13590.3, abs=0.1)


def test_new_things_are_bought_again_at_the_end_of_their_life_but_not_at_the_horizon():
    bag = Purchase(unit="bags", count=10, goods_price=2.0, labour_price=1.0, life_years=4.0, bought=True)

    assert np.flatnonzero(bag.spent(20)).tolist() == [0, 4, 8, 12, 16]
    assert set(bag.spent(20)[[0, 4, 8, 12, 16]]) == {30.0}


def test_things_in_use_wear_out_evenly_from_the_first_year():
    box = Purchase(unit="boxes", count=40, goods_price=10.0, life_years=20.0, bought=False)

    assert box.spent(5).tolist() == [0.0, 20.0, 20.0, 20.0, 20.0, 20.0]


def test_a_life_of_half_years_is_counted_in_the_year_in_which_it_ends():
    strip = Purchase(unit="strips", count=1, goods_price=1.0, life_years=1.5, bought=True)

    assert np.flatnonzero(strip.spent(4)).tolist() == [0, 2, 3]


@pytest.mark.parametrize(
    ("dearer", "other", "year"),
    [
        ([100, 110, 120], [0, 60, 130], 2),
        ([100, 110, 120], [100, 120, 130], 0),
        ([100, 150, 200], [0, 90, 180], None),
        ([100, 110, 190, 195], [0, 120, 130, 200], 3),
    ],
)
def test_break_even_is_the_first_year_from_which_it_stays_cheaper(dearer, other, year):
    assert break_even_year(np.array(dearer, dtype=float), np.array(other, dtype=float)) == year


def test_a_plan_that_moves_nothing_needs_nothing():
    change = changeover(small_scenario(), "quarterly")

    assert (change.moved, change.outlay) == (0, 0.0)
    assert {purchase.bought for purchase in change.purchases} == {False}


def test_moving_boxes_to_bags_costs_the_labour_and_the_bags():
    scenario = small_scenario()
    moved = sum(row.kind == "box" for row in scenario.enclosures)

    change = changeover(with_programme(scenario, {"box": "bag"}), "moved")

    # 20 minutes at 30 a hour are 10 for each; a bag costs 2
    assert change.moved == moved > 0
    assert change.labour_h == pytest.approx(moved / 3.0)
    assert change.labour_price == pytest.approx(10.0 * moved)
    new = {purchase.what: purchase for purchase in change.purchases if purchase.bought}
    assert new["new enclosures: bag"].unit_price == pytest.approx(12.0)
    # each bag needs a packet "c": 0.1 kg at 10 a kg and 0.25 for the empty packet; the store's own count is kept
    assert new["new packets: c"].unit_price == pytest.approx(1.25)
    assert change.goods_price == pytest.approx(2.0 * moved + 1.25 * new["new packets: c"].count)


def test_leaks_that_a_plan_goes_by_and_nobody_has_measured_are_measured_first():
    from dataclasses import replace

    scenario = small_scenario()
    plan = scenario.settings.plans["quarterly"].model_copy(update={"rule": "forecast", "leak_knowledge": "measured"})
    known = scenario.enclosures[0].model_copy(update={"leak_per_day": 1.5})
    knowing = replace(
        scenario,
        settings=scenario.settings.model_copy(update={"plans": {**scenario.settings.plans, "knowing": plan}}),
        enclosures=(known, *(row.model_copy(update={"leak_per_day": None}) for row in scenario.enclosures[1:])),
    )
    change = changeover(knowing, "knowing")
    count = len(scenario.enclosures) - 1

    # 10 minutes each at 30 an hour
    assert (change.tested, change.moved) == (count, 0)
    assert change.test_h == pytest.approx(count / 6)
    assert change.outlay == change.test_price == pytest.approx(5.0 * count)
    assert changeover(knowing, "quarterly").tested == 0


def test_ovens_that_a_plan_adds_are_bought_and_those_there_wear_out():
    scenario = small_scenario()
    plan = scenario.settings.plans["quarterly"].model_copy(update={"changes": {"ovens.small.count": 3}})
    from dataclasses import replace

    more = replace(
        scenario,
        settings=scenario.settings.model_copy(update={"plans": {**scenario.settings.plans, "more": plan}}),
    )

    ovens = {(p.what, p.count, p.bought) for p in changeover(more, "more").purchases if "oven" in p.what}

    assert ovens == {("ovens: small", 2, False), ("new ovens: small", 1, True)}


def test_the_wage_is_the_mean_of_all_people_and_nothing_without_anybody():
    settings = small_scenario().settings

    assert mean_wage_per_h(settings) == 30.0
    assert mean_wage_per_h(settings.model_copy(update={"technicians": {}})) == 0.0


def test_discounting_makes_late_money_cheaper():
    late = Purchase(unit="bags", count=1, goods_price=100.0, life_years=10.0, bought=True)
    change = Changeover(moved=1, labour_h=0.0, labour_price=0.0, goods_price=100.0, purchases=(late,))

    paid, total = cumulative_cost(change, 0.0, discount_pct=3.0, horizon_years=12)

    # source: factor table for i = 3 %, n = 10: P/F = 0.7441 (value from memory, unverified against print)
    assert paid.sum() == 200.0
    assert total[-1] == pytest.approx(100.0 + 74.41, abs=0.01)
