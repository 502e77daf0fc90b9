"""The command line: exit codes, messages, files; each in a process of its own, as the user starts it."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def simstore(*words, **options):
    return subprocess.run(
        [sys.executable, "-m", "simstore", *map(str, words)], capture_output=True, text=True, timeout=120, **options
    )


def content(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    out = tmp_path_factory.mktemp("run") / "out"
    return simstore("run", TINY, "--out", out, "--replications", 3, "--workers", 1, "--no-pictures"), out


def test_run_ends_with_0_and_says_the_answer_first(done):
    process, out = done

    assert process.returncode == 0, process.stderr
    assert process.stdout.startswith("Plan 'quarterly' ")
    assert f"Results: {out}" in process.stdout
    assert process.stderr == ""
    assert max(len(line) for line in process.stdout.splitlines() if not line.startswith("Results")) <= 80


def test_run_writes_a_summary_of_the_promised_shape(done):
    summary = json.loads((done[1] / "summary.json").read_text())

    assert summary["replications"] == 3
    assert set(summary["plans"]["quarterly"]["held_pct.iron"]) == {"unit", "mean", "low", "high"}


def test_two_workers_write_the_same_bytes_as_one(done, tmp_path):
    process = simstore("run", TINY, "--out", tmp_path / "out", "--replications", 3, "--workers", 2, "--no-pictures")

    assert process.returncode == 0, process.stderr
    assert content(tmp_path / "out") == content(done[1])


def test_another_seed_gives_other_results_and_says_so(done, tmp_path):
    simstore("run", TINY, "--out", tmp_path / "out", "--replications", 3, "--workers", 1, "--no-pictures", "--seed", 8)

    assert json.loads((tmp_path / "out" / "manifest.json").read_text())["seed"] == 8
    assert content(tmp_path / "out")["enclosures.csv"] != content(done[1])["enclosures.csv"]


def test_plans_that_are_named_are_run_and_their_charts_drawn(tmp_path):
    out = tmp_path / "out"
    process = simstore("run", TINY, "--out", out, "--plan", "two_ovens", "--plan", "quarterly", "--replications", 1)

    assert process.returncode == 0, process.stderr
    assert set(json.loads((out / "summary.json").read_text())["plans"]) == {"quarterly", "two_ovens"}
    assert "Plan 'two_ovens'" in process.stdout
    assert any(path.suffix == ".svg" for path in (out / "pictures").iterdir())


def test_an_unknown_plan_ends_with_1_and_a_suggestion_and_writes_nothing(tmp_path):
    process = simstore("run", TINY, "--out", tmp_path / "out", "--plan", "quartely")

    assert process.returncode == 1
    assert process.stderr == "error: no plan 'quartely'; did you mean 'quarterly'?\n"
    assert not (tmp_path / "out").exists()


def test_a_foreign_folder_ends_with_1_before_anything_is_simulated(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    process = simstore("run", TINY, "--out", tmp_path, "--replications", 100_000)

    assert process.returncode == 1
    assert process.stderr.startswith("error: ")
    assert "did not write (notes.txt)" in process.stderr
    assert "Traceback" not in process.stderr


@pytest.mark.parametrize("command", [("check",), ("run", "--out", "x")])
def test_a_scenario_that_is_not_there_ends_with_1_and_no_traceback(tmp_path, command):
    process = simstore(command[0], tmp_path / "missing", *command[1:], cwd=tmp_path)

    assert process.returncode == 1
    assert process.stderr.startswith("error: ")
    assert "Traceback" not in process.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("run", TINY),
        ("run", TINY, "--out", "x", "--replications", "0"),
        ("run", TINY, "--out", "x", "--workers", "many"),
        ("run", TINY, "--out", "x", "--seed", "-1"),
        ("dance",),
        ("check",),
    ],
)
def test_wrong_usage_ends_with_2(words, tmp_path):
    process = simstore(*words, cwd=tmp_path)

    assert process.returncode == 2
    assert "Traceback" not in process.stderr
    assert list(tmp_path.iterdir()) == []


def test_check_says_what_was_understood():
    process = simstore("check", TINY)
    lines = process.stdout.splitlines()

    assert process.returncode == 0, process.stderr
    assert lines[0] == "Tiny store"
    assert any(line.split() == ["enclosures", "copper", "iron", "all"] for line in lines)
    assert any(line.startswith(" * quarterly") for line in lines)


def test_check_refuses_a_range_that_reaches_where_the_scenario_is_not_valid(tmp_path):
    folder = tmp_path / "store"
    shutil.copytree(TINY, folder)
    with (folder / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write('\n[uncertain.damp]\nkeys = ["climate.rh_mean_pct"]\nlow = 40\nhigh = 130\n')

    process = simstore("check", folder)

    assert process.returncode == 1
    assert "climate.rh_mean_pct = 130" in process.stderr
    assert "[uncertain.damp]" in process.stderr


def test_start_writes_a_scenario_that_passes_the_check(tmp_path):
    made = simstore("start", tmp_path / "store")

    assert made.returncode == 0, made.stderr
    assert simstore("check", tmp_path / "store").returncode == 0


def test_start_leaves_a_folder_that_holds_something_as_it_is(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    process = simstore("start", tmp_path)

    assert process.returncode == 1
    assert "is not empty; name a new folder, nothing was written" in process.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_help_loads_no_heavy_library():
    code = (
        "import sys; sys.argv = ['simstore', '--help']\n"
        "from simstore.cli.app import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "print(*(m for m in ('numpy', 'pandas', 'scipy', 'matplotlib', 'simpy', 'pydantic') if m in sys.modules), file=sys.stderr)"
    )
    process = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert process.stderr.split() == []


def test_the_library_is_used_without_files_and_gives_data_frames():
    code = (
        "import sys, simstore\n"
        "assert 'pandas' not in sys.modules and 'numpy' not in sys.modules\n"
        "from pathlib import Path\n"
        f"scenario = simstore.load_scenario(Path({str(TINY)!r}))\n"
        "tables = simstore.tables(simstore.replicate(scenario, ['quarterly'], 1))\n"
        "print(len(tables['enclosures']) == len(scenario.enclosures), set(dir(simstore)) >= set(simstore.__all__))\n"
    )
    process = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert process.stdout.split() == ["True", "True"]


def test_an_unknown_public_name_is_an_attribute_error():
    import simstore as package

    with pytest.raises(AttributeError, match="module 'simstore' has no attribute 'simulat'"):
        package.simulat  # noqa: B018
