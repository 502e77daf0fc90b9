"""The search: the cheapest plan that holds is proven on fresh years, and when none holds it says what would."""

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simstore.lab.bench import Bench, Task
from simstore.lab.cache import open_cache
from simstore.plans.candidates import Candidate
from simstore.prose.answers.find import find_blocks
from simstore.prose.answers.rivals import MOST_LISTED, as_good
from simstore.prose.terminal import text_of
from simstore.results.metrics import MetricValue
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.values.search_space import Search
from simstore.study.find.grid import grid_of
from simstore.study.find.options import FindOptions
from simstore.study.find.samples import Samples
from simstore.study.find.search import find_plan, over_horizon
from simstore.study.find.tables import binding_said, document_of, summary_of_choice, tables_of
from simstore.study.find.trade_off import TradeOff, drawn_trade_off

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
CADENCE = "plans.quarterly.cadence_weeks"
OVENS = "ovens.small.count"
EASY = FindOptions(target=0.5, confidence=0.9, budget=60, marginal_replications=3)


@pytest.fixture(scope="module")
def tiny():
    return load_scenario(TINY)


def searching(scenario, **vary):
    search = Search(plans=("quarterly",), vary=vary)
    return replace(scenario, settings=scenario.settings.model_copy(update={"search": search}))


class Invented(Bench):
    """A bench that invents its years instead of simulating them."""

    def __init__(self, scenario, year):
        super().__init__(scenario)
        self.year = year

    def runs(self, tasks, harvest):
        return (self.year(self.scenario, task) for task in tasks)


def by_share(share_of):
    """A year that costs what the plan's means cost, and is good with the chance that ``share_of`` gives the plan."""

    def measured(scenario, task):
        settings = task.variant.scenario_of(scenario).settings
        weeks, ovens = settings.plans[task.variant.base].cadence_weeks, settings.ovens["small"].count
        # the same luck for every plan, since it depends on the replication alone
        good = np.random.default_rng([5, task.replication]).random() < share_of(weeks, ovens)
        held = 99.0 if good else 90.0
        rows = {
            "years_met": float(good), "held_pct.iron": held, "held_pct.copper": 100.0, "oven_use_pct": 95.0 / ovens,
            "staff_h": 20.0, "idle_h": 300.0, "loads": 9.0, "exchanges": 60.0, "overdue": 2.0,
            "cost_per_year": 1000.0 / weeks, "annual_equivalent_cost": 1000.0 / weeks + 50.0 * ovens,
            "no_ready_days.small": 40.0, "margin_pct": 4.0 if good else -5.0, "margin_ln": 0.7 if good else -0.7,
        }  # fmt: skip
        return [MetricValue(name, "1", value) for name, value in rows.items()]

    return measured


def test_the_cheapest_plan_that_holds_is_found_and_proven_on_years_nobody_has_seen(tiny):
    # invented truth: 20 weeks and more fail half of the years, 13 weeks and less hold always
    scenario = searching(tiny, **{CADENCE: (4.0, 8.0, 13.0, 20.0, 26.0), OVENS: (1, 2, 3)})
    with Invented(scenario, by_share(lambda weeks, ovens: 1.0 if weeks <= 13 else 0.5)) as bench:
        found = find_plan(bench, FindOptions(marginal_replications=4))

    assert found.chosen == Candidate("quarterly")
    proof = found.finding.evidence[found.chosen].proof
    assert proof.proven
    # The e-process of n runs without a miss is (1 - 0.9^(n+1)) / (0.1 (n+1) 0.9^n); at 44 runs it is 22, at 43 it is 20.
    # The first ladder has four fifths of the error of 5 %, so that 25 must be passed; runs come in eights.
    assert proof.met == proof.replications == 48
    assert min(found.fresh) >= 1_000_000
    searched = {sample.replication for sample in found.samples.known if sample.replication < 1_000_000}
    assert document_of(found)["first_unused_replication"] == max(searched) + 1
    assert max(searched) < 128
    for weeks in (20.0, 26.0):  # cheaper, and bad in half of the years
        assert found.finding.evidence[Candidate("quarterly", ((CADENCE, weeks),))].verdict in ("fails", "undecided")
    assert found.shortage is None


def test_the_marginal_table_gives_paired_differences_of_single_steps(tiny):
    scenario = searching(tiny, **{CADENCE: (8.0, 13.0, 20.0)})
    with Invented(scenario, by_share(lambda weeks, ovens: 1.0 if weeks <= 13 else 0.5)) as bench:
        found = find_plan(bench, FindOptions(marginal_replications=6))

    rows = {row.step.what: row for row in found.marginal}
    oven = rows["one more oven (small: 2)"].differences["annual_equivalent_cost"]
    shorter = rows["cadence 8 weeks instead of 13"].differences["annual_equivalent_cost"]
    longer = rows["cadence 20 weeks instead of 13"]
    assert oven.mean == pytest.approx(50.0)  # by the invented cost
    assert shorter.mean == pytest.approx(1000.0 / 8 - 1000.0 / 13)
    assert longer.differences["held_pct.iron"].mean <= 0.0
    assert oven.replications == 6
    assert any("2 h a week more" in what for what in rows)
    assert any("10 kg more gel" in what for what in rows)
    assert rows["2 h a week more (Tue 09:00-14:30)"].step.idle_hours_cost == 2 * 52 * 24.0


def test_when_nothing_holds_the_least_change_that_would_is_proven(tiny):
    scenario = searching(tiny, **{CADENCE: (8.0, 13.0)})
    with Invented(scenario, by_share(lambda weeks, ovens: 1.0 if ovens >= 2 else 0.3)) as bench:
        found = find_plan(bench, FindOptions())
        words = text_of(find_blocks(found))

    assert found.chosen is None
    assert found.shortage.least.resource == "oven"
    assert found.shortage.least.what == "1 more oven (small)"
    assert "iron" in found.shortage.missing_pct
    assert "the ovens are in use 95 % of the time" in found.shortage.short
    assert "40 days" in found.shortage.short
    assert words.startswith("No plan of the search space")
    assert "1 more oven (small)" in words
    assert document_of(found)["if_nothing_holds"]["least_change"] == "1 more oven (small)"


def test_when_no_change_helps_it_says_so(tiny):
    scenario = searching(tiny, **{CADENCE: (13.0,)})
    with Invented(scenario, by_share(lambda weeks, ovens: 0.0)) as bench:
        found = find_plan(bench, FindOptions())

    assert found.chosen is None
    assert found.shortage.least is None
    assert "No change that was tried" in text_of(find_blocks(found))
    assert any(" and " in each.resource for each in found.shortage.tried), "two changes at once are tried too"
    summary, replications = summary_of_choice(found)
    assert list(summary) == ["nearest"]
    assert replications >= 2


def test_every_candidate_is_in_the_table_with_a_verdict_and_a_reason(tiny):
    scenario = searching(tiny, **{CADENCE: (8.0, 13.0, 26.0, 104.0), OVENS: (1, 2)})
    with Invented(scenario, by_share(lambda weeks, ovens: 1.0 if weeks <= 13 else 0.5)) as bench:
        found = find_plan(bench, FindOptions(marginal_replications=2))
    tables = tables_of(found)

    table = tables["find_candidates"]
    assert len(table) == 8
    assert (table["verdict"] == "holds").sum() == 1
    assert (table["reason"] != "").all()
    assert set(tables["pareto"]["on_front"]) <= {"yes", "no"}
    assert (tables["pareto"]["chosen"] == "yes").sum() == 1
    assert list(tables["marginal"].columns)[:3] == ["step", "resource", "metric"]
    json.dumps(document_of(found), allow_nan=False)
    words = text_of(find_blocks(found))
    assert words.startswith("The cheapest plan that is proven")
    assert all(len(line) <= 80 for line in words.splitlines() if not line.startswith(("  ", "*", "what", "plans")))


def assert_counts_add_up(found):
    """Every plan of the space is in exactly one of the counts that are said."""
    counts, words = found.counts(), " ".join(text_of(find_blocks(found)).split())
    plans = document_of(found)["plans"]

    assert sum(counts.values()) == len(found.finding.evidence) == plans["in_space"]
    said = re.search(r"(\d+) plans?: (\d+) simulated by the search(?:, (\d+) judged by)?", words)
    assert int(said[1]) == int(said[2]) + int(said[3] or 0)
    assert (tables_of(found)["pareto"]["replications"] > 1).all()


@pytest.mark.parametrize("holds", [1.0, 0.0])
def test_the_counts_of_plans_add_up_to_all_of_them(tiny, holds):
    scenario = searching(
        tiny, **{CADENCE: (4.0, 8.0, 13.0, 26.0, 104.0), OVENS: (1, 2, 3), "stock.small.ready": (6, 60)}
    )
    with Invented(scenario, by_share(lambda weeks, ovens: holds if weeks <= 13 else 0.0)) as bench:
        found = find_plan(bench, FindOptions(marginal_replications=0, budget=200))

        assert (found.chosen is None) == (holds == 0.0)
        assert_counts_add_up(found)


@pytest.mark.parametrize(
    ("use", "said"),
    [
        ((7.0, 9.0, 2.0), "Ready packets ran out on 2 days of a run; no other means is near its limit"),
        ((7.0, 9.0, 0.2), "Ready packets ran out on less than one day of a run; no other means is near its limit"),
        ((7.0, 9.0, 0.0), "No means is near its limit (ovens: in use 7 % of the time; working hours: 9 % of them used"),
        ((95.0, 9.0, 40.0), "Nearest to its limit: ovens, in use 95 % of the time; ready packets ran out on 40 days"),
        ((95.0, 9.0, 0.0), "Nearest to its limit: ovens, in use 95 % of the time"),
        ((7.0, 9.0, 200.0), "Nearest to its limit: ready packets, none left on 200 days of a run"),
    ],
)  # fmt: skip
def test_what_ran_out_is_never_said_to_be_far_from_its_limit(use, said):
    assert binding_said(*use).startswith(said)


def lived(scenario, workers=1, path=None, stop_after=None):
    """Search with real simulations; stop as by Ctrl-C after some of them."""

    def tick(count):
        if stop_after is not None and count >= stop_after:
            raise KeyboardInterrupt

    with open_cache(path) as cache, Bench(scenario, workers=workers, cache=cache) as bench:
        found = find_plan(bench, EASY, tick=tick)
        return json.dumps(document_of(found)), tables_of(found), text_of(find_blocks(found))


def test_an_interrupted_search_goes_on_to_the_same_bytes_and_so_does_one_in_two_processes(tiny, tmp_path):
    scenario = searching(tiny, **{CADENCE: (26.0, 52.0), "stock.small.ready": (6, 20)})
    whole = lived(scenario, path=tmp_path / "a.sqlite")

    with pytest.raises(KeyboardInterrupt):
        lived(scenario, path=tmp_path / "b.sqlite", stop_after=5)
    before = (tmp_path / "b.sqlite").stat().st_size
    resumed = lived(scenario, path=tmp_path / "b.sqlite", workers=2)

    assert before > 0
    for name, table in whole[1].items():
        assert table.to_csv() == resumed[1][name].to_csv()
    assert (whole[0], whole[2]) == (resumed[0], resumed[2])


def test_each_year_of_a_plan_is_simulated_once_however_often_it_is_asked_for(tiny):
    asked = []

    def measured(scenario, task):
        asked.append(task)
        return (MetricValue("loads", "1/a", 1.0),)

    with Invented(tiny, measured) as bench:
        samples = Samples(bench)
        samples.measure([Candidate("quarterly")], range(3))
        samples.measure([Candidate("quarterly")], range(4))

    assert asked == [Task(Candidate("quarterly"), number) for number in range(4)]
    assert samples.replications_of(Candidate("quarterly")) == 4


@pytest.mark.parametrize("target", [0.5, 0.9, 0.96, 0.99])
def test_the_good_share_always_lies_above_the_target(target):
    asked = FindOptions(target=target, budget=4000).asked(5)

    assert asked.target == target < asked.good < 1.0
    assert asked.budget == 800


def test_runs_of_a_search_last_as_long_as_the_horizon(tiny):
    assert over_horizon(tiny).settings.years == tiny.settings.horizon_years == 5
    assert over_horizon(tiny, 3).settings.years == 3
    shorter = replace(tiny, settings=tiny.settings.model_copy(update={"days": 60}))
    assert over_horizon(shorter, 2).settings.days is None


def test_plans_stand_where_their_values_lie_between_the_least_and_the_greatest(tiny):
    plans = [Candidate("quarterly"), Candidate("quarterly", ((CADENCE, 26.0),)), Candidate("strip", ((OVENS, 2),))]
    grid = grid_of(tiny, plans)

    assert grid.groups.tolist() == [0, 0, 1]
    assert grid.places[:, 0].tolist() == [0.0, 0.0, 1.0]  # ovens: 1, 1, 2
    assert grid.places[:, 1].tolist() == [0.0, 1.0, 0.0]  # cadence: 13, 26, 13


def by_trigger(scenario, task):
    """A year of a forecasting plan that is good if it changes early, and costs the more the earlier it does."""
    trigger = task.variant.scenario_of(scenario).settings.plans[task.variant.base].trigger_pct
    good = np.random.default_rng([6, task.replication]).random() < (1.0 if trigger <= 70 else 0.3)
    rows = {
        "years_met": float(good), "held_pct.iron": 97.0 if good else 94.0, "held_pct.copper": 100.0,
        "oven_use_pct": 1.0, "staff_h": 2.0, "idle_h": 300.0, "loads": 1.0, "exchanges": 6.0, "overdue": 0.0,
        "cost_per_year": 200.0 - trigger, "annual_equivalent_cost": 200.0 - trigger, "no_ready_days.small": 0.0,
        "margin_pct": 2.0 if good else -1.0, "margin_ln": 0.7 if good else -0.7,
    }  # fmt: skip
    return [MetricValue(name, "1", value) for name, value in rows.items()]


def forecasting(scenario, *triggers):
    search = Search(plans=("forecast",), vary={"plans.forecast.trigger_pct": triggers})
    return replace(scenario, settings=scenario.settings.model_copy(update={"search": search}))


def test_changing_earlier_is_among_the_single_changes_that_are_tried(tiny):
    with Invented(forecasting(tiny, 85.0), by_trigger) as bench:
        found = find_plan(bench, FindOptions())

    assert found.chosen is None
    assert found.shortage.least.resource == "trigger"
    assert found.shortage.short.startswith("no means is used up")


def test_the_marginal_table_steps_to_the_neighbours_in_the_search_space(tiny):
    with Invented(forecasting(tiny, 55.0, 70.0, 95.0), by_trigger) as bench:
        found = find_plan(bench, FindOptions(marginal_replications=4))
        words = text_of(find_blocks(found))

    assert dict(found.chosen.changes) == {"plans.forecast.trigger_pct": 70.0}
    assert {row.step.what for row in found.marginal if row.step.resource == "trigger"} == {
        "change at 55 % of the ceiling instead of 70 %", "change at 95 % of the ceiling instead of 70 %",
    }  # fmt: skip
    assert "No means is near its limit" in words


def test_cheaper_plans_that_the_budget_left_undecided_are_named(tiny):
    # invented truth: 20 weeks hold in 92 of 100 years, too near to 90 to be told within the budget
    scenario = searching(tiny, **{CADENCE: (8.0, 13.0, 18.0, 20.0)})
    with Invented(scenario, by_share(lambda weeks, ovens: 1.0 if weeks <= 13 else 0.92)) as bench:
        found = find_plan(bench, FindOptions(budget=300, marginal_replications=0))
        words = text_of(find_blocks(found))

    assert found.chosen in {Candidate("quarterly"), Candidate("quarterly", ((CADENCE, 8.0),))}
    assert found.finding.undecided_cheaper
    assert "Not proven, and perhaps up to " in words
    assert "The next cheaper plan, " in words
    assert "one step more or less" not in words


@pytest.fixture(scope="module")
def searched(tiny):
    """A search among plans of which two are as good as the one that it finds, with real simulations."""
    scenario = searching(tiny, **{CADENCE: (26.0, 52.0), "plans.quarterly.programme": ("as_registered", "boxes_only")})
    with Bench(scenario) as bench:
        return find_plan(bench, EASY)


def test_plans_that_may_be_as_good_are_listed_once_and_named_in_words(searched):
    one, *others = list(searched.finding.evidence)
    blocks = list(as_good(searched, cheaper=[one], alike=others[:2]))
    heading, said, table = blocks

    assert heading.text == "Plans that may be as good"
    assert [row[1].text for row in table.rows] == ["perhaps cheaper", *["as dear"] * len(others[:2])]
    assert any("every 26 weeks" in row[0].text or "every 52 weeks" in row[0].text for row in table.rows)
    assert said.text.startswith("1\u00a0plan may be cheaper than the one found")
    assert "other plan" in said.text


def test_more_plans_than_fit_are_counted(searched):
    (one, *_) = searched.finding.evidence
    *_, table = as_good(searched, cheaper=[one] * (MOST_LISTED + 3), alike=[])

    assert len(table.rows) == MOST_LISTED
    assert "; 3\u00a0more plans of this kind" in table.caption


def test_without_such_plans_there_is_no_list(searched):
    assert list(as_good(searched, cheaper=[], alike=[])) == []


def test_the_chart_of_simulated_plans_leaves_out_what_costs_more_than_twice_as_much(tiny):
    plan = Candidate("quarterly")
    points = [
        TradeOff(plan=replace(plan, base=name), replications=4, cost=cost, margin_pct=1.0, good_years=4, on_front=True)
        for name, cost in (("quarterly", 100.0), ("strip", 199.0), ("forecast", 201.0))
    ]

    assert [point.cost for point in drawn_trade_off(tiny, points, plan).points] == [100.0, 199.0]
    assert [point.cost for point in drawn_trade_off(tiny, points, None).points] == [100.0, 199.0, 201.0]
    assert drawn_trade_off(tiny, points[:1], plan) is None
