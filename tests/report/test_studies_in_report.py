"""Comparisons, sweeps, stress tests and sensitivity studies: reports of their own, or added to that of a run."""

import re
import shutil
from collections import Counter

import pytest

from simstore.errors import SimstoreError
from simstore.report.page_study import TITLES, prose_of
from simstore.report.result_folder import read_result_folder
from simstore.report.writing import write_report

COMMANDS = ["compare", "sweep", "stress", "sensitivity"]


@pytest.fixture
def copied(studies, results, tmp_path):
    """Folders by command, free to be changed; "run" is the run of the same scenario."""
    folders = {**studies, "run": results}
    return {name: shutil.copytree(folder, tmp_path / name) for name, folder in folders.items()}


@pytest.mark.parametrize("command", COMMANDS)
def test_a_study_alone_has_a_report_with_its_words_charts_and_budget(copied, command):
    page, workbook = write_report(copied[command])
    html = page.read_text(encoding="utf-8")

    assert f">{TITLES[command]}</h2>" in html
    assert html.count("<svg") >= 1
    assert workbook.exists()
    assert "<script>alert" not in html


def test_studies_are_added_to_the_report_of_a_run(copied):
    page, _ = write_report(copied["run"], studies=[copied[name] for name in COMMANDS])
    html = page.read_text(encoding="utf-8")
    ids = re.findall(r'\sid="([^"]+)"', html)

    assert [title for title in TITLES.values() if f">{title}</h2>" not in html] == [TITLES["find"]]
    assert [name for name, count in Counter(ids).items() if count > 1] == []
    assert "The year, week by week" in html


def test_a_study_of_another_scenario_is_refused(copied):
    manifest = copied["stress"] / "manifest.json"
    text = manifest.read_text(encoding="utf-8")
    assert "lead_days = 21" in text
    manifest.write_text(text.replace("lead_days = 21", "lead_days = 22"), encoding="utf-8")

    with pytest.raises(SimstoreError, match="comes from another scenario"):
        write_report(copied["run"], studies=[copied["stress"]])


def test_a_study_that_knows_another_plan_of_the_same_store_is_taken(copied):
    manifest = copied["stress"] / "manifest.json"
    text = manifest.read_text(encoding="utf-8")
    assert "cadence_weeks = { iron = 8" in text
    manifest.write_text(text.replace("cadence_weeks = { iron = 8", "cadence_weeks = { iron = 9"), encoding="utf-8")

    assert write_report(copied["run"], studies=[copied["stress"]])


def test_the_plan_that_a_sweep_marks_is_the_cheapest_of_those_that_it_judged_to_hold(studies):
    from simstore.report.page_answer import leading_plan

    folder = read_result_folder(studies["sweep"])
    points = folder.study_table("points.csv")
    kept = points[points["meets_all"] == "yes"]

    assert len(kept) > 0
    assert leading_plan(folder) == kept.loc[kept["annual_equivalent_cost"].idxmin(), "point"]


def test_programmes_that_a_comparison_adds_are_known_with_what_they_need_at_the_start(studies):
    from simstore.report.budget import budget_of

    folder = read_result_folder(studies["compare"])
    budget = budget_of(folder, "quarterly in boxes_only")
    bags = sum(1 for one in folder.scenario.enclosures if one.kind == "triple_bag")

    assert bags > 0
    assert [part.quantity for part in budget.outlays if part.label == "new enclosures: clip_box"] == [bags]


def test_only_sentences_are_taken_from_the_words_of_a_study():
    words = "plan A is cheaper\nthan plan B.\n\nmetric   unit   value\nhours    h    3\n\nCautions\n  - Hot: do not touch.\n"

    assert [text.text for text in prose_of(words)] == ["Plan A is cheaper than plan B."]
