"""Plans under the same luck: inputs first, differences that hold together, exact limits for shares."""

import math

import numpy as np
import pytest
from scipy import stats

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.precision import Precision
from simstore.plans.differing import differing_inputs
from simstore.prose.answers.compare import compare_blocks, plus_minus
from simstore.prose.answers.outlays import break_even_said
from simstore.prose.terminal import text_of
from simstore.results.metrics import MetricValue
from simstore.study.compare.comparison import (
    Comparison,
    compare,
    differences_of,
    money_by_year,
    share_difference,
    with_programmes,
)


def runs_of(**values):
    """Runs from lists of values by metric, for one plan."""
    count = len(next(iter(values.values())))
    return [
        tuple(MetricValue(name.replace("__", "."), "u", float(column[place])) for name, column in values.items())
        for place in range(count)
    ]


@pytest.fixture(scope="module")
def compared(tiny_with_bags):
    return compare(Bench(tiny_with_bags), ["boxes", "bags"], Precision(replications=4, half_widths={}))


def test_intervals_of_differences_share_the_error_between_all_metrics():
    runs = {
        "a": runs_of(staff_h=[1, 2, 3, 5], loads=[1, 1, 2, 2]),
        "b": runs_of(staff_h=[2, 4, 4, 7], loads=[2, 1, 2, 4]),
    }

    found, family = differences_of(runs, ["a", "b"])

    # second route: Student's t of scipy at 1 - 0.05 / 2
    staff = next(row for row in found if row.metric == "staff_h")
    moved = np.array([1, 2, 1, 2])
    low, high = stats.t.interval(0.975, 3, loc=moved.mean(), scale=stats.sem(moved))
    assert family == 2
    assert (staff.mean, staff.low, staff.high) == pytest.approx((1.5, low, high))
    assert staff.variance_ratio == pytest.approx(
        (np.var([1, 2, 3, 5], ddof=1) + np.var([2, 4, 4, 7], ddof=1)) / np.var(moved, ddof=1)
    )


def test_a_task_that_nobody_did_takes_no_hours_and_other_gaps_stay_unknown():
    runs = {
        "a": [(MetricValue("staff_h", "h/a", 1.0), MetricValue("exchange_wait_days", "d", math.nan))] * 3,
        "b": runs_of(staff_h__exchange=[2, 3, 4], staff_h=[3, 4, 5], exchange_wait_days=[1, 1, 1]),
    }

    found, _ = differences_of(runs, ["a", "b"])

    by_metric = {row.metric: row for row in found}
    assert by_metric["staff_h.exchange"].mean == 3.0
    assert math.isnan(by_metric["exchange_wait_days"].mean)


def test_the_limits_of_a_difference_of_shares_are_those_of_its_discordant_runs():
    first, second = np.array([1] * 8 + [0] * 2), np.array([1] * 3 + [0] * 5 + [1] + [0])

    mean, low, high = share_difference(first, second)

    # second route: Clopper-Pearson limits as quantiles of the beta distribution, each share at half of the error
    tail = 0.05 / 4
    assert mean == pytest.approx(0.4)
    only_first = stats.beta.ppf([tail, 1 - tail], [5, 6], [6, 5])
    only_second = stats.beta.ppf([tail, 1 - tail], [1, 2], [10, 9])
    assert (low, high) == pytest.approx((only_first[0] - only_second[1], only_first[1] - only_second[0]))


def test_the_limits_of_a_difference_of_shares_cover_at_least_as_often_as_they_say():
    rng = np.random.default_rng(5)
    luck = rng.random((1000, 12))
    covered = 0
    for row in luck:
        _, low, high = share_difference((row < 0.8).astype(int), (row < 0.6).astype(int))
        covered += low <= 0.2 <= high

    assert covered >= 950


def test_inputs_that_differ_are_the_plans_own_keys_the_housing_and_what_it_changes(tiny):
    rows = {row.key: row.under for row in differing_inputs(tiny, ["quarterly", "two_ovens", "forecast"])}

    assert rows["ovens.small.count"] == ("1", "2", "1")
    assert rows["plan.rule"] == ('"calendar"', '"calendar"', '"forecast"')
    assert rows["enclosures.triple_bag"][2] == "-"
    assert not any(key.endswith("label") for key in rows)


def test_equal_plans_differ_in_nothing(tiny):
    assert differing_inputs(tiny, ["quarterly", "quarterly"]) == []


def test_a_comparison_needs_two_plans(tiny):
    with pytest.raises(SimstoreError, match="two different plans"):
        compare(Bench(tiny), ["quarterly", "quarterly"], Precision(replications=2, half_widths={}))


def test_two_workers_find_the_same_as_one(tiny_with_bags, compared):
    with Bench(tiny_with_bags, workers=2) as bench:
        again = compare(bench, ["boxes", "bags"], Precision(replications=4, half_widths={}))

    assert repr(again.differences) == repr(compared.differences)
    assert again.break_even == compared.break_even


def test_the_verdict_names_hours_points_and_money(compared):
    words = text_of(compare_blocks(compared))

    assert max(map(len, words.splitlines())) <= 80
    first = words.split("\n\n")[0].replace("\n", " ")
    hours = compared.difference("bags", "staff_h")
    assert ("less" if hours.mean < 0 else "more") in first
    assert "Plan 'bags' needs" in first
    assert "boxes" in first
    assert "inputs that differ" in words
    assert "Bonferroni" in words
    assert "changing over, EUR" in words
    assert "Cautions" in words


def test_the_first_year_of_money_is_the_outlay_and_the_last_the_discounted_sum(compared):
    rows = money_by_year(compared)

    start = {plan: paid for plan, year, paid, _ in rows if year == 0}
    assert start == {plan: pytest.approx(compared.changeovers[plan].outlay) for plan in compared.plans}
    assert len(rows) == 2 * 21


def test_break_even_is_said_with_its_interval_and_its_absence(compared):
    settings = compared.scenario.settings
    base = compared.break_even[0]._replace(dearer="bags", other="boxes", more=100.0)

    never = break_even_said(base._replace(year=None, soonest=None, latest=None), settings)
    spread = break_even_said(base._replace(year=6, soonest=5, latest=None), settings)

    assert "does not pay for itself within 20 years" in never
    assert "in year 6 (interval: 5 to beyond 20)" in spread


def test_a_dearer_beginning_that_saves_every_year_pays_for_itself(tiny_with_bags, compared):
    cost = compared.difference("bags", "cost_per_year")
    row = compared.break_even[0]

    assert row.more == pytest.approx(abs(compared.changeovers["bags"].outlay - compared.changeovers["boxes"].outlay))
    cheaper = "bags" if cost.mean < 0 else "boxes"
    assert row.year is not None or row.dearer != cheaper


def test_one_run_has_no_intervals_and_says_so(tiny_with_bags):
    found = compare(Bench(tiny_with_bags), ["boxes", "bags"], Precision(replications=1, half_widths={}))

    assert all(math.isnan(row.low) for row in found.differences)
    assert found.break_even[0].soonest is None
    assert "there are no intervals" in text_of(compare_blocks(found)).replace("\n", " ")


def test_each_plan_is_compared_under_each_programme(tiny):
    whole, names = with_programmes(tiny, ["quarterly"], ["as_registered", "boxes_only"])

    assert names == ["quarterly as registered", "quarterly in boxes_only"]
    assert whole.settings.plans[names[1]].programme == "boxes_only"
    assert with_programmes(tiny, ["quarterly"], []) == (tiny, ["quarterly"])


def test_unknown_programmes_are_all_named(tiny):
    with pytest.raises(SimstoreError, match="no programme 'boxs_only'; did you mean 'boxes_only'"):
        with_programmes(tiny, ["quarterly"], ["boxs_only"])


def test_half_widths_lengthen_a_comparison_until_they_are_reached(tiny_with_bags):
    pilot = compare(Bench(tiny_with_bags), ["boxes", "bags"], Precision(replications=4, half_widths={}))
    sd = np.std(
        [
            a.value - b.value
            for a, b in zip(
                *[[r for rows in pilot.runs[p] for r in rows if r.metric == "energy_kwh"] for p in ("bags", "boxes")],
                strict=True,
            )
        ],
        ddof=1,
    )

    found = compare(
        Bench(tiny_with_bags), ["boxes", "bags"], Precision(replications=4, half_widths={"energy_kwh": float(sd)})
    )

    assert found.replications > 4
    assert isinstance(found, Comparison)


def test_plus_minus_is_half_of_the_interval(compared):
    row = compared.differences[0]._replace(mean=1.7, low=1.4, high=2.0)

    assert plus_minus(row, 1) == "1.7 ± 0.3"
