"""Comparisons, sweeps, stress tests and sensitivity studies: reports of their own, or added to that of a run."""

import json
import re
import shutil
from collections import Counter

import pandas as pd
import pytest

from simstore.errors import SimstoreError
from simstore.report.page.facts import doubt_said
from simstore.report.page.page import html_of
from simstore.report.page.parts import Names
from simstore.report.page.study import MOST_STRESSED, TITLES, _hardest_hit, prose_of
from simstore.report.page.study_tables import LAID_OUT
from simstore.report.writing import write_report
from simstore.results.reading import read_result_folder

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
    from simstore.report.page.answer import leading_plan

    folder = read_result_folder(studies["sweep"])
    points = folder.study_table("points.csv")
    kept = points[points["meets_all"] == "yes"]

    assert len(kept) > 0
    assert leading_plan(folder) == kept.loc[kept["annual_equivalent_cost"].idxmin(), "point"]


def test_programmes_that_a_comparison_adds_are_known_with_what_they_need_at_the_start(studies):
    from simstore.report.basis.budget import budget_of

    folder = read_result_folder(studies["compare"])
    budget = budget_of(folder, "quarterly in boxes_only")
    bags = sum(1 for one in folder.scenario.enclosures if one.kind == "triple_bag")

    assert bags > 0
    assert [part.quantity for part in budget.outlays if part.label == "new enclosures: clip_box"] == [bags]


def test_only_sentences_are_taken_from_the_words_of_a_study():
    words = "plan A is cheaper\nthan plan B.\n\nmetric   unit   value\nhours    h    3\n\nCautions\n  - Hot: do not touch.\n"

    assert [text.text for text in prose_of(words)] == ["Plan A is cheaper than plan B."]


def test_negative_numbers_in_sentences_have_a_true_minus_and_nothing_else_does():
    words = "Held -0.53 ± 0.33 points (-2) from 2027-01-05 on Tue 09:00-14:30, with P-7 and k-3.\n"

    (said,) = prose_of(words)
    assert said.text == (
        "Held \u22120.53 ± 0.33 points (\u22122) from 2027-01-05 on Tue 09:00-14:30, with P-7 and k-3."
    )


@pytest.mark.parametrize(
    ("command", "name", "says"),
    [
        ("compare", "changeover", {"Price", "EUR each", "bought", "there"}),
        ("stress", "losses", {"Failure", "A wetter year, +5 %RH", "points lost"}),
        ("sensitivity", "knowing", {"Input", "at its high end", "object-days a year"}),
    ],
)
def test_what_a_reader_sees_at_once_has_headings_units_and_names_in_words(studies, command, name, says):
    folder = read_result_folder(studies[command])
    rows = folder.study_table(f"{name}.csv")
    if name == "losses":  # this little store loses nothing to any failure
        rows = rows.assign(held_points=-1.0)
    table = LAID_OUT[name](folder, rows, Names())
    texts = {text for head in table.heads for text in (head.text, head.unit)}
    texts |= {cell.text for row in table.rows for cell in row}

    assert says <= texts
    assert not any("_" in head.text for head in table.heads)
    assert all(len(row) == len(table.heads) for row in table.rows)


def test_a_failure_that_costs_a_metal_nothing_is_counted_but_not_listed(studies):
    folder = read_result_folder(studies["stress"])
    table = folder.study_table("losses.csv").assign(held_points=0.0, excess_pct_days=0.0)
    table.loc[0, ["held_points", "held_points_low", "held_points_high"]] = -1.5, -2.0, -1.0
    laid = LAID_OUT["losses"](folder, table, Names())

    assert len(laid.rows) == 1
    assert f"{len(table) - 1}\u00a0pairs" in laid.caption
    assert [cell.text for cell in laid.rows[0]][2:4] == ["\u22121.50", "\u22122.00 to \u22121.00"]


def test_a_loss_that_lasts_to_the_end_says_so(studies):
    folder = read_result_folder(studies["stress"])
    table = folder.study_table("losses.csv").head(2).assign(held_points=-1.0, back_week=[float("nan"), 30.0])

    assert [row[-1].text for row in LAID_OUT["losses"](folder, table, Names()).rows] == ["not by the end", "31"]


def test_where_no_failure_costs_anything_one_sentence_says_so(studies):
    folder = read_result_folder(studies["stress"])
    table = folder.study_table("losses.csv").assign(held_points=0.0, excess_pct_days=0.0)

    assert "None of these failures" in LAID_OUT["losses"](folder, table, Names()).text


def test_of_many_charts_of_stress_only_those_of_the_metals_hit_hardest_are_on_the_page(copied):
    pictures = copied["stress"] / "pictures"
    (one,) = pictures.glob("under_stress_*.svg")
    losses = read_result_folder(copied["stress"]).study_table("losses.csv")
    rows = [losses.head(1).assign(metal=metal, held_points=lost) for metal, lost in (("lead", -3.0), ("tin", -2.0))]
    for metal in ("lead", "tin"):
        for suffix in (".svg", ".csv"):
            shutil.copyfile(one.with_suffix(suffix), pictures / f"under_stress_{metal}{suffix}")
    pd.concat([losses.assign(held_points=-1.0), *rows]).to_csv(copied["stress"] / "losses.csv", index=False)
    drawn = _hardest_hit(read_result_folder(copied["stress"]), sorted(pictures.glob("*.svg")))

    assert [picture.stem for picture in drawn][:MOST_STRESSED] == ["under_stress_lead", "under_stress_tin"]
    losses.to_csv(copied["stress"] / "losses.csv", index=False)  # metals that the store has
    html = html_of(read_result_folder(copied["stress"]))
    assert html.count('id="chart-stress-') == MOST_STRESSED
    assert "1\u00a0metal class less hit" in html


def test_the_first_screen_names_the_doubt_that_would_break_the_standard(copied):
    folder = read_result_folder(copied["sensitivity"])
    plan = folder.facts["asked"]["plan"]
    effects = folder.study_table("effects.csv")
    first = effects["input"].iloc[0]
    shares = effects["metric"].str.startswith("held_pct.")
    effects.loc[shares, "result"] = 99.9
    effects.to_csv(copied["sensitivity"] / "effects.csv", index=False)
    assert doubt_said([read_result_folder(copied["sensitivity"])], plan) == ""
    effects.loc[(effects["input"] == first) & (effects["end"] == "high") & shares, "result"] = 71.25
    effects.to_csv(copied["sensitivity"] / "effects.csv", index=False)
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
