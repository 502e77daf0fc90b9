"""Metrics and costs against sums done by hand on the record of ``handmade.py``."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import small_record, small_scenario
from hypothesis import given
from hypothesis import strategies as st

from simstore.money.costs import capital_recovery_factor, cost_lines, disposed_kg, total
from simstore.results.columns import table_columns
from simstore.results.metric_names import METRICS
from simstore.results.metrics import held_pct, metrics_of, swing_damping
from simstore.results.tallied import tally_of
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.values.plan import Programme
from simstore.sim.record import Mishap, Undone
from simstore.sim.run import simulate

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
PER_YEAR = 365 / 4  # the record is four days long


def values(**kinds):
    return {row.metric: row.value for row in metrics_of(small_record(scenario=small_scenario(**kinds)))}


HAND_SUMS = {
    # iron: (3 objects x 4 days + 1 x 1) of 4 objects x 4 days
    "held_pct.iron": 100 * 13 / 16,
    "held_pct.bronze": 100.0,
    "years_met": 0.0,
    "excess_pct_days.iron": 9.0 * PER_YEAR,
    "ever_over.iron": 1,
    "ever_over.bronze": 0,
    # median |change|: B-1 1, B-2 2, C-1 0 -> 1; room 4
    "swing_damping": 0.75,
    "gel_bought_kg": 2.0 * PER_YEAR,
    "gel_circulating_kg": 4.0,
    "least_ready.p": 7,
    "least_ready.c": 1,
    "loads": 2 * PER_YEAR,
    # (2140 - 700) + (5760 - 2200) minutes of two ovens over four days
    "oven_use_pct": 100 * 5000 / (2 * 5760),
    # packet-days waiting 5+6+2+2 + 0+0+2+1 over 6 packets loaded
    "oven_wait_days": 18 / 6,
    "exchanges": 3 * PER_YEAR,
    "exchanges.iron": 2 * PER_YEAR,
    "exchanges.bronze": 1 * PER_YEAR,
    "exchange_wait_days": 2 / 3,
    "staff_h": 2.0 * PER_YEAR,
    "staff_h.inspect": 50 / 60 * PER_YEAR,
    "staff_h.exchange": 70 / 60 * PER_YEAR,
    "peak_week_h": 2.0,
    "idle_h": 100 / 60 * PER_YEAR,
    "overdue": 0,  # the one that waits was due two days before the end
    "energy_kwh": 5.0 * PER_YEAR,
    "rounds": 2 * PER_YEAR,
}


@pytest.mark.parametrize(("metric", "expected"), HAND_SUMS.items())
def test_metric_equals_the_sum_done_by_hand(metric, expected):
    assert values()[metric] == pytest.approx(expected, rel=1e-12)


def test_every_metric_is_in_the_manual_and_every_entry_of_the_manual_is_measured():
    found = {name.partition(".")[0] for name in values()}

    assert found | {"too_dry_pct"} == {metric.name for metric in METRICS}
    limited = small_record()
    limited.enclosures.lower_limit_rh_pct[0] = 11.0
    limited.enclosures.dry_days[0] = 1
    named = {row.metric: row.value for row in metrics_of(limited)}
    assert named["too_dry_pct.iron"] == pytest.approx(100.0 * 3 / 16)  # three objects of four, one day of four


def test_a_currency_stands_in_the_unit():
    units = {row.metric: row.unit for row in metrics_of(small_record(scenario=small_scenario(currency="GBP")))}

    assert units["cost_per_year"] == "GBP/a"
    assert units["staff_h.inspect"] == "h/a"


def test_a_year_is_met_only_if_every_metal_class_is():
    record = small_record()
    record.enclosures.held_days[1] = 4
    record.enclosures.day_mean_rh_pct[1] = 14.0

    found = {row.metric: row.value for row in metrics_of(record)}

    assert found["years_met"] == 1.0
    assert found["worst_year_held_pct.iron"] == found["held_pct.iron"] == 100.0
    assert found["margin_pct"] == 1.0  # every standard is 99 %, and all was held


def test_what_cannot_be_measured_is_not_a_number():
    record = small_record()
    record.loads.clear()
    record.exchanges.clear()
    record.room_rh_pct[:] = 50

    found = {row.metric: row.value for row in metrics_of(record)}

    assert math.isnan(found["oven_wait_days"])
    assert math.isnan(found["exchange_wait_days"])
    assert math.isnan(found["swing_damping"])


# Running costs of the four days, done by hand:
#   labour 120 min x 30/h = 60; 10 packets bought, 10 empty ones x 0.50 = 5 and 2 kg of gel x 5 = 10;
#   worn: 2 x 0.5/50 = 0.02 and 2 x 0.25/10 = 0.05; energy 5 x 0.3 = 1.5;
#   disposal: 0.6 kg lost, of which 0.25 kg of the blue gel in packets c.
ORDINARY_KG = 0.35
HAZARDOUS_KG = 0.25
COSTS = {
    "labour of Ada": 60.0 * PER_YEAR,
    "gel purchases: p": 10.0 * PER_YEAR,
    "packets purchased: p": 5.0 * PER_YEAR,
    "packets worn out: p": 0.02 * PER_YEAR,
    "packets worn out: c": 0.05 * PER_YEAR,
    "energy": 1.5 * PER_YEAR,
    "disposal, ordinary": ORDINARY_KG * 1.0 * PER_YEAR,
    "disposal, hazardous": HAZARDOUS_KG * 8.0 * PER_YEAR,
    # capital without discount: price / life
    "ovens: small": 2 * 1000 / 10,
    "enclosures: box": 2 * 30 / 20,
    "enclosures: bag": 2 / 5,
    "opening stock: p": 15 * (0.2 * 5 + 0.5) / 10,
    "opening stock: c": 0.0,
    # in the enclosures two packets p and three c, of 0.1 kg at 10 a kg with an empty packet of 0.25
    "gel in enclosures: p": 2 * (0.2 * 5 + 0.5) / 10,
    "gel in enclosures: c": 3 * (0.1 * 10 + 0.25) / 10,
    # putting each to use: a quarter of an hour at 30/h
    "renewal labour: box": 2 * 7.5 / 20,
    "renewal labour: bag": 7.5 / 5,
}


def test_cost_lines_equal_the_sums_done_by_hand_to_the_cent():
    record = replace(small_record(), packets_placed={"p": 2, "c": 3})
    found = {line.line: line.amount_per_year for line in cost_lines(tally_of(record))}

    assert found.keys() == COSTS.keys()
    for line, amount in COSTS.items():
        assert found[line] == round(amount, 2), line


def test_cost_lines_sum_to_the_totals_to_the_cent():
    scenario = small_scenario(discount_pct=3.0)
    lines = cost_lines(tally_of(small_record(scenario=scenario)))
    found = {row.metric: row.value for row in metrics_of(small_record(scenario=scenario))}
    in_cents = {
        sort: sum(round(100 * line.amount_per_year) for line in lines if line.sort == sort)
        for sort in ("running", "capital")
    }

    assert round(100 * found["cost_per_year"]) == in_cents["running"]
    assert round(100 * found["annual_equivalent_cost"]) == in_cents["running"] + in_cents["capital"]
    assert total(lines, "running") == found["cost_per_year"]


def test_disposal_shares_out_all_gel_that_was_lost():
    ordinary, hazardous = disposed_kg(tally_of(small_record()))

    assert ordinary + hazardous == pytest.approx(0.6, rel=1e-15)


def test_repairs_and_rehousing_have_their_lines():
    scenario = small_scenario()
    boxes = Programme(label="all in boxes", replace={"bag": "box"}, rehouse_min=20.0)
    plan = scenario.settings.plans["quarterly"].model_copy(update={"programme": "boxes"})
    settings = scenario.settings.model_copy(update={"programmes": {"boxes": boxes}, "plans": {"quarterly": plan}})
    record = small_record()
    record.mishaps = [Mishap("oven", "small 2", "small", 10), Mishap("enclosure", "B-1", "box", 20)]

    record.scenario = replace(scenario, settings=settings)

    lines = {line.line: line.amount_per_year for line in cost_lines(tally_of(record))}

    assert lines["repairs: small"] == 80.0 * PER_YEAR
    assert lines["enclosures replaced: box"] == 30.0 * PER_YEAR
    # two boxes (the record has a bag, which is no part of this), 20 min at 30/h, over the 20 years of a box
    assert lines["renewal labour: box"] == 2 * 10.0 / 20


def test_a_plan_that_goes_by_measured_leaks_pays_for_measuring_them():
    scenario = small_scenario()
    plan = scenario.settings.plans["quarterly"].model_copy(update={"rule": "forecast", "leak_knowledge": "measured"})
    tasks = scenario.settings.tasks.model_copy(update={"leak_test_min": 12.0})
    lines = {}
    for knowledge in ("measured", "kind"):
        plans = {"quarterly": plan.model_copy(update={"leak_knowledge": knowledge})}
        settings = scenario.settings.model_copy(update={"plans": plans, "tasks": tasks})
        each = cost_lines(tally_of(small_record(scenario=replace(scenario, settings=settings))))
        lines[knowledge] = {line.line: line.amount_per_year for line in each}

    # 15 min to move the objects, 12 to measure, at 30/h over the 5 years of a bag
    assert lines["measured"]["renewal labour: bag"] == 27 / 60 * 30 / 5
    assert lines["kind"]["renewal labour: bag"] == 15 / 60 * 30 / 5


def test_finds_that_arrived_later_count_from_then_on():
    record = small_record()
    record.enclosures.counted_days[1] = 2

    # iron: (3 objects x 4 days + 1 x 1) held of 3 x 4 + 1 x 2
    assert held_pct(record.enclosures, "iron") == pytest.approx(100 * 13 / 14)


def test_a_class_that_never_arrived_has_no_share_and_breaks_no_standard():
    record = small_record()
    record.enclosures.counted_days[:2] = 0
    record.enclosures.held_days[:2] = 0
    record.enclosures.day_mean_rh_pct[:2] = np.nan
    found = {row.metric: row.value for row in metrics_of(record)}

    assert math.isnan(found["held_pct.iron"])
    assert found["years_met"] == 1.0


def test_one_day_has_no_swing():
    record = small_record()
    record.days = 1

    assert math.isnan(swing_damping(record))


def test_a_run_that_needed_nothing_has_the_same_lines_with_nothing_in_them():
    # else the mean of a line over runs would be that of the runs that needed it
    record = small_record()
    for rows in (record.staff, record.orders, record.loads, record.exchanges, record.stock):
        rows.clear()

    lines = [line for line in cost_lines(tally_of(record)) if line.sort == "running"]

    assert [line.line for line in lines] == [
        n.line for n in cost_lines(tally_of(small_record())) if n.sort == "running"
    ]
    assert {line.quantity for line in lines} == {0.0}


def test_every_line_is_a_quantity_times_a_price_over_a_life():
    lines = cost_lines(tally_of(small_record(scenario=small_scenario(discount_pct=3.0))))

    for line in lines:
        whole = line.quantity * line.price
        if line.sort == "capital":
            # NCEES FE Reference Handbook, factor A/P
            n = line.life_years
            whole *= 0.03 * 1.03**n / (1.03**n - 1)
        assert line.amount_per_year == pytest.approx(whole, abs=0.00501), line.line
    assert {line.unit for line in lines} == {"h", "kg", "packets", "kWh", "enclosures", "ovens"}


# Source: "Table 1, discrete cash flow: compound interest factors, 0.25 %", column A/P, of the interest factor tables of
# an engineering-economy textbook (page A-1; read in an online copy). Printed to five decimals.
AP_AT_A_QUARTER_PERCENT = [(1, 1.00250), (2, 0.50188), (10, 0.10138), (20, 0.05132), (26, 0.03977)]


@pytest.mark.parametrize(("life", "printed"), AP_AT_A_QUARTER_PERCENT)
def test_capital_recovery_factor_agrees_with_the_printed_table(life, printed):
    assert capital_recovery_factor(0.0025, life) == pytest.approx(printed, abs=5.1e-6)


@given(rate=st.floats(0, 0.3), life=st.integers(1, 50))
def test_payments_discounted_to_today_add_up_to_the_price(rate, life):
    payment = capital_recovery_factor(rate, life)

    assert sum(payment / (1 + rate) ** year for year in range(1, life + 1)) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize(("rate", "life"), [(0.03, 0.0), (-0.01, 5.0)])
def test_a_factor_without_life_or_with_negative_rate_is_refused(rate, life):
    with pytest.raises(ValueError, match="life_years must be above 0 and rate at least 0"):
        capital_recovery_factor(rate, life)


def test_the_summary_table_repeats_the_metrics():
    columns = table_columns(small_record())["summary"]

    assert dict(zip(columns["metric"], columns["value"], strict=True)) == values()


@pytest.mark.parametrize(("days_late", "expected"), [(6.9, 0), (7, 1), (30, 1)])
def test_work_counts_as_overdue_a_week_after_it_was_due(days_late, expected):
    room = np.full(60 * 24, 50.0, dtype=np.float32)
    waits = Undone("exchange", "B-1", round((60 - days_late) * 1440))
    record = replace(small_record(), days=60, room_temp_c=room, room_rh_pct=room, undone=[waits])

    assert {row.metric: row.value for row in metrics_of(record)}["overdue"] == expected


def test_a_run_is_measured_under_the_plan_that_was_lived_through_whoever_asks():
    # The plan has one oven more than the store. By hand: minutes that ovens are taken, over those of two ovens.
    record = simulate(load_scenario(TINY), "two_ovens")
    end_min = record.days * 1440
    taken_min = sum((load.unloaded_min or end_min) - load.loaded_min for load in record.loads)

    found = {row.metric: row.value for row in metrics_of(record)}

    assert taken_min > 0
    assert found["oven_use_pct"] == pytest.approx(100 * taken_min / (2 * end_min))
