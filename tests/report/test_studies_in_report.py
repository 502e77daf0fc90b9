"""Comparisons, sweeps, stress tests and sensitivity studies: reports of their own, or added to that of a run."""

import json
import re
import shutil
from collections import Counter

import pytest
from handmade import hashed_anew

from simstore.errors import SimstoreError
from simstore.prose.sections.facts import doubt_said
from simstore.report.writing import write_report
from simstore.results.reading import read_result_folder

COMMANDS = ["compare", "sweep", "stress", "sensitivity"]


def title_of(folder):
    return json.loads((folder / "answer.json").read_text(encoding="utf-8"))["title"]


@pytest.fixture
def copied(studies, results, tmp_path):
    """Folders by command, free to be changed; "run" is the run of the same scenario."""
    folders = {**studies, "run": results}
    return {name: shutil.copytree(folder, tmp_path / name) for name, folder in folders.items()}


@pytest.mark.parametrize("command", COMMANDS)
def test_a_study_alone_has_a_report_with_its_words_charts_and_budget(copied, command):
    page, workbook = write_report(copied[command])
    html = page.read_text(encoding="utf-8")

    assert f">{title_of(copied[command])}</h2>" in html
    assert html.count("<svg") >= 1
    assert workbook.exists()
    assert "<script>alert" not in html


def test_studies_are_added_to_the_report_of_a_run(copied):
    page, _ = write_report(copied["run"], studies=[copied[name] for name in COMMANDS])
    html = page.read_text(encoding="utf-8")
    ids = re.findall(r'\sid="([^"]+)"', html)

    assert [name for name in COMMANDS if f">{title_of(copied[name])}</h2>" not in html] == []
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
    from simstore.results.leading import leading_plan

    folder = read_result_folder(studies["sweep"])
    points = folder.study_table("points.csv")
    kept = points[points["meets_all"] == "yes"]

    assert len(kept) > 0
    assert leading_plan(folder) == kept.loc[kept["annual_equivalent_cost"].idxmin(), "point"]


def test_programmes_that_a_comparison_adds_are_known_with_what_they_need_at_the_start(studies):
    from simstore.results.budget import budget_of

    folder = read_result_folder(studies["compare"])
    budget = budget_of(folder, "quarterly in boxes_only")
    bags = sum(1 for one in folder.scenario.enclosures if one.kind == "triple_bag")

    assert bags > 0
    assert [part.quantity for part in budget.outlays if part.label == "new enclosures: clip_box"] == [bags]


def test_an_answer_that_cannot_be_read_is_refused(copied):
    (copied["stress"] / "answer.json").write_text('{"title": "x", "blocks": [{"kind": "song"}]}', encoding="utf-8")
    hashed_anew(copied["stress"])

    with pytest.raises(SimstoreError, match="is not an answer as this version writes it"):
        write_report(copied["stress"])


def test_negative_numbers_on_the_page_have_a_true_minus_and_the_terminal_a_plain_one(copied):
    (changed,) = re.findall(r"cost_per_year +EUR/a .*", (copied["compare"] / "answer.txt").read_text(encoding="utf-8"))
    page, _ = write_report(copied["compare"])
    cells = page.read_text(encoding="utf-8").split(">cost_per_year</th>")[1].split("</tr>")[0]

    assert ("-" in changed) == ("\u2212" in cells)
    assert ">-" not in cells


def test_the_first_screen_names_the_doubt_that_would_break_the_standard(copied):
    folder = read_result_folder(copied["sensitivity"])
    plan = folder.facts["asked"]["plan"]
    effects = folder.study_table("effects.csv")
    first = effects["input"].iloc[0]
    shares = effects["metric"].str.startswith("held_pct.")
    effects.loc[shares, "result"] = 99.9
    effects.to_csv(copied["sensitivity"] / "effects.csv", index=False)
    hashed_anew(copied["sensitivity"])
    assert doubt_said([read_result_folder(copied["sensitivity"])], plan) == ""
    effects.loc[(effects["input"] == first) & (effects["end"] == "high") & shares, "result"] = 71.25
    effects.to_csv(copied["sensitivity"] / "effects.csv", index=False)
    hashed_anew(copied["sensitivity"])
    inputs = folder.study_table("inputs.csv").set_index("input")

    said = doubt_said([read_result_folder(copied["sensitivity"])], plan)

    assert f"\u201c{inputs.loc[first, 'label']}\u201d is " in said
    assert said.endswith("is held on 71.25\u00a0% only.")
    assert doubt_said([folder], "another plan") == ""


def test_a_part_about_another_plan_says_so(copied):
    manifest = copied["stress"] / "manifest.json"
    facts = json.loads(manifest.read_text(encoding="utf-8"))
    facts["asked"]["plan"] = "two_ovens"
    manifest.write_text(json.dumps(facts), encoding="utf-8")
    html = write_report(copied["run"], studies=[copied["stress"]])[0].read_text(encoding="utf-8")

    assert "This part is about plan \u201ctwo_ovens\u201d" in html
