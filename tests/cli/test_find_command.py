"""find on the command line: folder, words, interruption, errors."""

import json
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from simstore.cli.app import app, main
from simstore.lab.cache import Cache

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
SEARCH = """
[search]
plans = ["quarterly"]
[search.vary]
"plans.quarterly.cadence_weeks" = [26, 52]
"stock.small.ready" = [6, 20]
"""
# Half of the years at 90 % needs few simulated years, so that the whole command is quick.
EASY = ["--target", "0.5", "--confidence", "0.9", "--budget", "60", "--years", "1", "--marginal", "2"]
FILES = {
    "answer.json", "answer.txt", "find.json", "find_candidates.csv", "manifest.json", "marginal.csv", "pareto.csv",
    "pictures", "summary.json",
}  # fmt: skip


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("store")
    (folder / "register.csv").write_bytes((TINY / "register.csv").read_bytes())
    (folder / "scenario.toml").write_text((TINY / "scenario.toml").read_text() + SEARCH)
    return folder


@pytest.fixture(scope="module")
def done(store, tmp_path_factory):
    out = tmp_path_factory.mktemp("find") / "out"
    return find(store, out, "--workers", "1", "--resume", out.with_suffix(".sqlite")), out


def find(store, out, *words):
    return CliRunner().invoke(
        app, ["find", str(store), "--out", str(out), *EASY, *map(str, words)], catch_exceptions=False
    )


def bytes_of(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_find_writes_its_folder_and_says_the_answer_first_in_80_columns(done):
    result, out = done

    assert result.exit_code == 0
    assert result.output.startswith("The cheapest plan that is proven to keep every metal class")
    assert result.output.rstrip().endswith(f"Results: {out}")
    assert max(len(line) for line in result.output.splitlines() if "Results" not in line) <= 80
    assert {path.name for path in out.iterdir()} == FILES
    summary = json.loads((out / "summary.json").read_text())
    assert list(summary["plans"]) == ["chosen"]
    assert set(summary["plans"]["chosen"]["annual_equivalent_cost"]) == {"unit", "mean", "low", "high"}
    found = json.loads((out / "find.json").read_text())
    assert found["chosen"]["fresh"]["share_low"] > 0.5
    assert found["chosen"]["fresh"]["replications"] == summary["replications"]
    assert out.with_suffix(".sqlite").exists()  # a file that the user names stays


def test_a_search_stopped_by_hand_exits_with_1_and_goes_on_to_the_same_bytes(
    store, done, tmp_path, monkeypatch, capsys
):
    out = tmp_path / "out"
    keep, kept = Cache.keep, []

    def keep_five(self, key, what):
        keep(self, key, what)
        kept.append(key)
        if len(kept) >= 5:
            raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(Cache, "keep", keep_five)
        patched.setattr(sys, "argv", ["simstore", "find", str(store), "--out", str(out), *EASY, "--workers", "1"])
        with pytest.raises(SystemExit) as stopped:
            main()

    assert stopped.value.code == 1
    assert "the same command goes on from there" in capsys.readouterr().err
    assert not out.exists()
    assert [path.suffix for path in tmp_path.iterdir()] == [".sqlite"]
    assert find(store, out, "--workers", "2").exit_code == 0
    assert bytes_of(out) == bytes_of(done[1])
    assert [path.name for path in tmp_path.iterdir()] == ["out"]  # the finished simulations are cleared away


def test_a_folder_of_somebody_else_is_left_alone_before_anything_is_simulated(store, tmp_path, monkeypatch, capsys):
    (tmp_path / "mine.txt").write_text("mine")
    monkeypatch.setattr(sys, "argv", ["simstore", "find", str(store), "--out", str(tmp_path)])

    with pytest.raises(SystemExit) as stopped:
        main()

    assert stopped.value.code == 1
    assert "did not write" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


@pytest.mark.parametrize("words", [["--target", "1.5"], ["--confidence", "0"], ["--budget", "3"]])
def test_numbers_that_mean_nothing_are_usage_errors(store, tmp_path, words):
    result = CliRunner().invoke(app, ["find", str(store), "--out", str(tmp_path / "x"), *words])

    assert result.exit_code == 2
