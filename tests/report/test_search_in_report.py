"""The plan that a search found: run, reported, with its trade-off, its marginal table and its proof."""

import json
import re
import shutil

import pytest
from handmade import hashed_anew

from simstore.errors import SimstoreError
from simstore.plans.found import change_said, chosen_of, with_found_plan
from simstore.report.writing import write_report
from simstore.results.budget import budget_of
from simstore.results.leading import leading_plan
from simstore.results.reading import read_result_folder
from simstore.scenario.reading.load import load_scenario


@pytest.fixture(scope="module")
def chosen(searched):
    return json.loads((searched / "search" / "find.json").read_text(encoding="utf-8"))["chosen"]


@pytest.fixture(scope="module")
def html(searched, tmp_path_factory):
    place = tmp_path_factory.mktemp("page")
    run, search = (shutil.copytree(searched / name, place / name) for name in ("run", "search"))
    page, _ = write_report(run, studies=[search])
    return page.read_text(encoding="utf-8")


def test_the_run_has_the_plan_that_was_found_with_all_its_changes(searched, chosen):
    folder = read_result_folder(searched / "run")
    settings = folder.settings_of("found")
    own = f"plans.{chosen['base']}."

    assert folder.plans == ["two_ovens", "found"]
    assert leading_plan(folder) == "found"
    for key, value in chosen["changes"].items():
        if key.startswith(own) and "." not in key.removeprefix(own):
            assert getattr(settings.plans["found"], key.removeprefix(own)) == value
        elif key == "stock.small.ready":
            assert settings.stock["small"].ready == value


def test_the_search_and_the_run_of_its_plan_cost_the_same_but_for_luck(searched):
    search, run = (read_result_folder(searched / name) for name in ("search", "run"))

    one = search.summary["chosen"]["annual_equivalent_cost"].estimate.mean
    other = run.summary["found"]["annual_equivalent_cost"].estimate.mean

    assert one == pytest.approx(other, rel=0.05)


def test_what_the_found_plan_needs_at_the_start_is_the_same_in_search_and_run(searched):
    search, run = (read_result_folder(searched / name) for name in ("search", "run"))

    assert budget_of(search, "chosen").outlays == budget_of(run, "found").outlays


def test_the_page_leads_with_the_found_plan_and_what_the_search_proved(html, chosen):
    first = html[: html.index("<nav")]
    proof = chosen["fresh"]

    assert "Plan “found”" in first
    assert "the cheapest that a search has proven to hold" in first
    assert f"met in {proof['good_years']}" in first


def test_trade_off_and_marginal_table_are_on_the_page(html):
    assert "What one step more or less buys" in html
    assert re.search(r"One more oven \(small: \d\)", html)
    assert html.count('class="mark') >= 2


def test_a_search_alone_has_a_report(searched, tmp_path):
    copy = shutil.copytree(searched / "search", tmp_path / "search")

    page, workbook = write_report(copy)

    assert "Plan “chosen”" in page.read_text(encoding="utf-8")
    assert workbook.exists()


def test_a_search_that_found_nothing_has_a_report_but_no_plan_to_run(searched, tmp_path):
    copy = shutil.copytree(searched / "search", tmp_path / "search")
    for name in ("find.json", "summary.json"):
        document = json.loads((copy / name).read_text(encoding="utf-8"))
        if name == "find.json":
            document["chosen"] = None
        else:
            document["plans"] = {"nearest": document["plans"]["chosen"]}
        (copy / name).write_text(json.dumps(document), encoding="utf-8")
    hashed_anew(copy)

    assert write_report(copy)
    with pytest.raises(SimstoreError, match="the search found no plan that holds"):
        chosen_of(copy)


def test_a_folder_that_is_not_of_a_search_is_refused(results):
    with pytest.raises(SimstoreError, match="is not the folder of a search"):
        chosen_of(results)


def test_a_plan_found_in_another_scenario_is_refused(searched):
    scenario = load_scenario(searched / "store")

    with pytest.raises(SimstoreError, match="rests on plan 'weekly', which it does not have"):
        with_found_plan(scenario, {"base": "weekly", "changes": {}})
    with pytest.raises(SimstoreError, match="has a plan 'strip' already"):
        with_found_plan(scenario, {"base": "quarterly", "changes": {}}, name="strip")


@pytest.mark.parametrize(
    ("base", "key", "value", "said"),
    [
        ("quarterly", "cadence_weeks", 26, "every 26 weeks"),
        ("forecast", "cadence_weeks", 1, "a due list a week ahead"),
        ("by_metal", "cadence_weeks.iron", 4, "iron every 4 weeks"),
        ("quarterly", "programme", "boxes_only", "all in boxes"),
        ("forecast", "trigger_pct", 85.0, "exchanged at 85 % of the ceiling"),
        ("quarterly", "ovens.small.count", 2, "2 ovens"),
        ("quarterly", "stock.small.ready", 12, "12 packets ready"),
        ("quarterly", "technicians.anna.sessions.0", "Tue 09:00-14:30", "anna at work Tue 09:00-14:30"),
    ],
)
def test_changes_are_said_in_words(searched, base, key, value, said):
    assert change_said(load_scenario(searched / "store").settings, base, key, value) == said
