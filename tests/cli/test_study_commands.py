"""compare, sweep, stress and sensitivity on the command line: folders, words, errors."""

import csv
import json
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pytest
from typer.testing import CliRunner

from simstore.cli.app import app, main
from simstore.sim.run import simulate

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
COMMANDS = {
    "compare": ["--plan", "quarterly", "--plan", "by_metal", "--plan", "forecast", "--replications", "2"],
    "sweep": [
        "--vary", "plan.cadence_weeks=10,60", "--vary", "stock.small.ready=1,6", "--replications", "2",
    ],
    "stress": ["--plan", "quarterly", "--replications", "2"],
    "sensitivity": ["--replications", "1", "--decide", "1", "--choose-from", "by_metal", "--morris", "1"],
}  # fmt: skip
TABLES = {
    "compare": {"inputs", "differences", "changeover", "years", "summary"},
    "sweep": {"points", "summary"},
    "stress": {"stresses", "losses", "weeks", "summary"},
    "sensitivity": {"inputs", "effects", "knowing", "screening", "summary"},
}
PICTURES = {
    "compare": {"paired_differences_by_metal", "paired_differences_forecast"},
    "sweep": {"tradeoff", "hours_and_excess", "cadence_and_stock"},
    "stress": {"under_stress_iron"},
    "sensitivity": {"what_to_measure_held", "what_to_measure_cost"},
}


def simstore(command, *words, folder=TINY):
    return CliRunner().invoke(app, [command, str(folder), "--workers", "1", *map(str, words)], catch_exceptions=False)


def rows(path):
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def done(made_once):
    """What every command says, and its folder, with its charts."""

    def make(folder):
        results = {command: simstore(command, *words, "--out", folder / command) for command, words in COMMANDS.items()}
        return {command: (result.exit_code, result.output) for command, result in results.items()}

    folder, said = made_once("commands", make)
    return {command: (said[command], folder / command) for command in COMMANDS}


@pytest.mark.parametrize("command", COMMANDS)
def test_a_study_ends_with_0_and_prints_80_columns(done, command):
    (code, said), out = done[command]

    assert code == 0
    assert said.rstrip().endswith(f"Results: {out}")
    assert max(len(line) for line in said.splitlines() if not line.startswith("Results")) <= 80
    assert (out / "answer.txt").read_text() == said[: said.index("\nResults: ")]


@pytest.mark.parametrize("command", COMMANDS)
def test_a_study_leaves_its_tables_charts_summary_and_manifest(done, command):
    out = done[command][1]

    assert {path.stem for path in out.glob("*.csv")} == TABLES[command]
    drawn = {path.name for path in (out / "pictures").iterdir()}
    assert {f"{name}.{end}" for name in PICTURES[command] for end in ("svg", "png", "csv")} <= drawn
    summary = json.loads((out / "summary.json").read_text())
    assert set(next(iter(summary["plans"].values()))["held_pct.iron"]) == {"unit", "mean", "low", "high"}
    manifest = json.loads((out / "manifest.json").read_text())
    assert manifest["command"] == command
    assert set(manifest["written"]) == {
        path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()
    } - {"manifest.json"}


def test_compare_lists_inputs_by_dotted_key_and_differences_with_intervals(done):
    out = done["compare"][1]

    keys = [row["key"] for row in rows(out / "inputs.csv")]
    assert "plan.rule" in keys
    differences = rows(out / "differences.csv")
    assert {row["plan"] for row in differences} == {"by_metal", "forecast"}
    assert {row["against"] for row in differences} == {"quarterly"}
    assert {row["plan"] for row in rows(out / "years.csv")} == {"quarterly", "by_metal", "forecast"}


def test_sweep_writes_one_row_a_point_with_its_keys(done):
    points = rows(done["sweep"][1] / "points.csv")

    keys = [(row["plans.quarterly.cadence_weeks"], row["stock.small.ready"]) for row in points]
    assert keys == [("10", "1"), ("10", "6"), ("60", "1"), ("60", "6")]
    assert all(float(row["staff_h low"]) <= float(row["staff_h"]) <= float(row["staff_h high"]) for row in points)


def test_stress_writes_every_week_of_every_failure(done):
    weeks = rows(done["stress"][1] / "weeks.csv")

    names = {row["stress"] for row in weeks}
    assert {"undisturbed", "oven_out", "person_away", "air_handling_out", "wetter_year"} <= names
    assert len(weeks) == len(names) * 2 * 52


def test_sensitivity_says_where_each_range_comes_from(done):
    inputs = rows(done["sensitivity"][1] / "inputs.csv")

    assert len(inputs) >= 10
    assert all(row["source"] for row in inputs)


def test_compare_takes_programmes_for_the_default_plan(tmp_path):
    words = ["--programme", "as_registered", "--programme", "boxes_only", "--replications", "1", "--no-pictures"]

    result = simstore("compare", *words, "--out", tmp_path / "out")

    assert result.exit_code == 0
    assert set(json.loads((tmp_path / "out" / "summary.json").read_text())["plans"]) == {
        "quarterly as registered",
        "quarterly in boxes_only",
    }
    assert not (tmp_path / "out" / "pictures").exists()


def test_compare_settles_which_plan_is_the_cheapest_by_an_amount(tmp_path):
    words = ["--plan", "quarterly", "--plan", "forecast", "--replications", "2", "--indifference", "20"]
    result = simstore("compare", *words, "--no-pictures", "--out", tmp_path / "out")

    assert "unless another is within 20 EUR a year of it" in " ".join(result.output.split())
    assert json.loads((tmp_path / "out" / "manifest.json").read_text())["asked"]["indifference"] == 20.0


def test_stress_takes_the_plan_that_a_search_found(tmp_path):
    chosen = {"base": "quarterly", "changes": {"plans.quarterly.cadence_weeks": 20, "ovens.small.count": 2}}
    (tmp_path / "search").mkdir()
    (tmp_path / "search" / "find.json").write_text(json.dumps({"chosen": chosen, "first_unused_replication": 7}))
    words = ["--found", tmp_path / "search", "--replications", "2", "--no-pictures", "--out", tmp_path / "out"]
    simstore("stress", *words)

    assert json.loads((tmp_path / "out" / "manifest.json").read_text())["asked"]["plan"] == "found"
    assert json.loads((tmp_path / "out" / "found.json").read_text()) == {**chosen, "first_unused_replication": 7}
    assert "Plan 'found'" in (tmp_path / "out" / "answer.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("compare", ["--plan", "quarterly", "--plan", "forecast"]),
        ("sweep", ["--vary", "ovens.small.count=1,2"]),
        ("stress", ["--plan", "quarterly"]),
        ("sensitivity", ["--decide", "1", "--choose-from", "by_metal"]),
    ],
)
def test_a_study_that_was_kept_goes_on_and_ends_in_the_same_bytes(tmp_path, monkeypatch, command, words):
    simstore(command, *words, "--replications", "1", "--no-pictures", "--out", tmp_path / "without")
    words = [*words, "--replications", "1", "--no-pictures", "--keep", tmp_path / "kept"]
    simstore(command, *words, "--out", tmp_path / "one")
    with closing(sqlite3.connect(tmp_path / "kept")) as kept, kept:  # as if it had been interrupted
        (count,) = kept.execute("SELECT count(*) FROM simulations").fetchone()
        kept.execute("DELETE FROM simulations WHERE key = (SELECT min(key) FROM simulations)")
    assert count > 1
    monkeypatch.setattr("simstore.sim.run.simulate", only_once(simulate))

    simstore(command, *words, "--out", tmp_path / "two")

    for path in (tmp_path / "without").iterdir():
        if path.is_file() and path.name != "manifest.json":
            assert (tmp_path / "one" / path.name).read_bytes() == path.read_bytes()
            assert (tmp_path / "two" / path.name).read_bytes() == path.read_bytes()


def only_once(work):
    """Do the work, but no second time."""
    calls = []

    def once(*args):
        calls.append(args)
        assert len(calls) == 1, "simulated again"
        return work(*args)

    return once


def test_another_seed_is_another_luck(tmp_path, done):
    simstore("compare", *COMMANDS["compare"], "--seed", 8, "--no-pictures", "--out", tmp_path / "out")

    assert json.loads((tmp_path / "out" / "manifest.json").read_text())["seed"] == 8
    assert (tmp_path / "out" / "summary.csv").read_bytes() != (done["compare"][1] / "summary.csv").read_bytes()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["compare", "--plan", "quarterly"], "two different plans"),
        (["compare", "--plan", "quartely", "--plan", "strip"], "did you mean 'quarterly'"),
        (["compare", "--plan", "strip", "--plan", "quarterly", "--half-width", "staff=1"], "no metric 'staff'"),
        (["sweep", "--vary", "ovens.small.counts=1,2"], "did you mean 'count'"),
        (["sweep", "--vary", "ovens.small.count"], "must be KEY=VALUE"),
        (["stress", "--plan", "nosuch"], "no plan 'nosuch'"),
        (["sensitivity", "--choose-from", "nosuch"], "no plan 'nosuch'"),
    ],
)
def test_faults_of_the_user_end_with_1_and_one_message(tmp_path, monkeypatch, capsys, words, message):
    command, *rest = words
    monkeypatch.setattr(sys, "argv", ["simstore", command, str(TINY), *rest, "--out", str(tmp_path / "out")])

    with pytest.raises(SystemExit) as ended:
        main()

    assert ended.value.code == 1
    said = capsys.readouterr()
    assert message in said.err
    assert said.out == ""
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", COMMANDS)
def test_a_folder_of_others_is_left_alone(tmp_path, monkeypatch, capsys, command):
    (tmp_path / "mine.txt").write_text("mine")
    monkeypatch.setattr(sys, "argv", ["simstore", command, str(TINY), *COMMANDS[command], "--out", str(tmp_path)])

    with pytest.raises(SystemExit) as ended:
        main()

    assert ended.value.code == 1
    assert "mine.txt" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
