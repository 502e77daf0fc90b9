"""What DEVELOPERS.md says is so: its examples run, its commands and files exist, its floors are those that are tested."""

import csv
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import outside_checks
import pytest
import test_floors
from sim import everything_waits
from written_page import ROOT, blocks_in, commands_of

from simstore.lab.replicate import replicate
from simstore.scenario.reading.load import load_scenario
from simstore.sim.run import simulate

GUIDE = ROOT / "DEVELOPERS.md"
TEXT = GUIDE.read_text(encoding="utf-8")
SHORT = 20
"""Lines that an extension may take."""


def toml_with(key):
    (block,) = [text for text in blocks_in(GUIDE, "toml") if key in text]
    return block


@pytest.fixture
def tiny(tmp_path):
    """A copy of the tiny store to be extended: its folder."""
    return Path(shutil.copytree(ROOT / "scenarios" / "tiny", tmp_path / "tiny"))


def extended(folder, block, **cells):
    """Add a block to the scenario, and change cells of the first row of its register."""
    path, register = folder / "scenario.toml", folder / "register.csv"
    path.write_text(f"{path.read_text()}\n{block}")
    head, first, *rest = register.read_text().splitlines()
    row = dict(zip(head.split(","), first.split(","), strict=True)) | cells
    register.write_text("\n".join([head, ",".join(row.values()), *rest]) + "\n")
    return load_scenario(folder)


def test_a_new_kind_of_enclosure_is_data_and_keeps_drier_than_the_leakier_box(tiny):
    usual = simulate(load_scenario(tiny), "quarterly").enclosures
    block = toml_with("[kinds.jar]")
    year = simulate(extended(tiny, block, kind="jar", volume_m3="", empty_m3=""), "quarterly").enclosures

    assert len(block.splitlines()) <= SHORT
    assert year.kind[0] == "jar"
    assert usual.kind[0] == "clip_box"
    assert year.mean_rh_pct[0] < usual.mean_rh_pct[0]


def test_a_new_sorbent_is_data_and_its_packets_are_dried_and_exchanged(tiny):
    block = toml_with("[sorbents.house_gel]")
    scenario = extended(tiny, block + "[stock.house]\nready = 2\n", packet="house")
    record = simulate(scenario, "quarterly")

    assert len(block.splitlines()) <= SHORT
    assert "invented" in TEXT.split("### A new sorbent")[1].split("```")[0]
    assert record.enclosures.exchanges[0] >= 3
    assert record.ledger.water_error < 1e-9


def applied(package, diff):
    """Make the changes of a diff whose hunks begin with the name of the file; the old lines must stand there once."""
    for name, body in re.findall(r"^--- (\S+)\n((?:[-+ ].*\n)+?)(?=^--- |\Z)", diff, re.MULTILINE):
        old = "".join(line[1:] + "\n" for line in body.splitlines() if not line.startswith("+"))
        new = "".join(line[1:] + "\n" for line in body.splitlines() if not line.startswith("-"))
        path = package.parent / name
        text = path.read_text(encoding="utf-8")
        assert text.count(old.rstrip("\n")) == 1, f"{name}: not there once:\n{old}"
        path.write_text(text.replace(old.rstrip("\n"), new.rstrip("\n")), encoding="utf-8")


@pytest.fixture
def with_per_packet(tiny, tmp_path):
    """The package with the guide's new rule, and the tiny store with a plan of it and two packets in each box."""
    (diff,) = blocks_in(GUIDE, "diff")
    package = Path(shutil.copytree(ROOT / "simstore", tmp_path / "code" / "simstore"))
    applied(package, diff)
    path = tiny / "scenario.toml"
    text = path.read_text().replace("packets = 1", "packets = 2", 1).replace("ready = 6", "ready = 40")
    path.write_text(f'{text}\n[plans.new]\nlabel = "new"\nrule = "per_packet"\ncadence_weeks = 8\n')
    return package, tiny


def run_in(package, *arguments):
    return subprocess.run(
        [sys.executable, *map(str, arguments)],
        cwd=package.parent,
        env={**os.environ, "PYTHONPATH": str(package.parent), "COLUMNS": "200"},
        capture_output=True,
        text=True,
    )


def test_a_new_rule_is_one_class_in_one_file_and_runs(with_per_packet):
    package, folder = with_per_packet
    (diff,) = blocks_in(GUIDE, "diff")
    program = f"""
import json, simstore
from simstore import load_scenario, simulate
assert simstore.__file__.startswith({str(package)!r})
scenario = load_scenario({str(folder)!r})
year = simulate(scenario, "new").enclosures
print(json.dumps([year.kind, year.exchanges.tolist()]))
"""
    found = run_in(package, "-c", program)
    assert found.returncode == 0, found.stderr
    kinds, exchanges = json.loads(found.stdout)
    boxes = [count for kind, count in zip(kinds, exchanges, strict=True) if kind == "clip_box"]
    bags = [count for kind, count in zip(kinds, exchanges, strict=True) if kind == "triple_bag"]

    assert diff.count("--- ") == 1
    assert len([line for line in diff.splitlines() if line.startswith("+")]) < SHORT
    # 52 weeks in steps of 8, or of 16 with two packets, and one more for what was due at the start: 4 x 6.5 + 8 x 3.25.
    assert (len(bags), len(boxes)) == (4, 8)
    assert 5 <= min(bags) <= max(bags) <= 7
    assert 2 <= min(boxes) <= max(boxes) <= 4


def test_a_new_rule_is_searched_and_named_in_words(with_per_packet, tmp_path):
    package, folder = with_per_packet
    path = folder / "scenario.toml"
    text = path.read_text().replace("years = 1", "days = 60")
    path.write_text(f'{text}\n[search]\nplans = ["new"]\nvary = {{ "plans.new.cadence_weeks" = [8, 26] }}\n')
    found = run_in(
        package,
        "-m",
        "simstore",
        "find",
        folder,
        "--budget",
        "60",
        "--years",
        "1",
        "--marginal",
        "0",
        "--out",
        tmp_path / "found",
    )
    assert found.returncode == 0, found.stderr
    path.write_text(path.read_text().replace('"per_packet"', '"per_paket"'))
    refused = run_in(package, "-m", "simstore", "check", folder)
    program = (
        "from simstore.scenario.values.plan import Plan\n"
        "print(*(Plan.model_fields[key].description for key in ('rule', 'cadence_weeks')), sep='\\n')"
    )
    told = run_in(package, "-c", program).stdout

    rows = list(csv.DictReader((tmp_path / "found" / "find_candidates.csv").read_text(encoding="utf-8").splitlines()))
    expected = {row["plan"]: float(row["expected_cost_per_year"]) for row in rows}
    assert set(expected) == {"new", "new; cadence_weeks = 26"}
    assert expected["new"] > expected["new; cadence_weeks = 26"]
    assert refused.returncode != 0
    assert "per_packet" in refused.stdout + refused.stderr
    assert "by date, later where there are more packets" in told
    assert "per_packet: weeks that one packet lasts" in told


def test_the_example_of_an_outside_check_is_a_row_that_passes(tmp_path):
    table = tmp_path / "checks.toml"
    table.write_text(toml_with("[[check]]"), encoding="utf-8")
    (row,) = outside_checks.read_rows(table)
    names = {}
    exec(next(text for text in blocks_in(GUIDE, "python") if "COMPUTES" in text), names)

    assert outside_checks.judge(row, names["COMPUTES"][row.id]()).passes
    assert set(outside_checks.KINDS) == set(re.findall(r"`(published|derived|common practice|from memory)`", TEXT))
    assert all(f"`{bound}`" in TEXT for bound in outside_checks.BOUNDS)


def test_the_examples_of_a_run_and_of_the_bench_run(monkeypatch):
    monkeypatch.chdir(ROOT)
    for text in blocks_in(GUIDE, "python"):
        if "load_scenario(" in text:
            exec(text, {})


def test_every_command_names_programs_scripts_and_extras_that_exist():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    known = {"python3", "python", "uv", ".ci/run", ".venv/bin/pip"}
    known |= {f".venv/bin/{name}" for name in ("pytest", "ruff", "mypy")}
    for words in commands_of(GUIDE):
        assert words[0] in known, words
        for word in words[1:]:
            if word.endswith((".py", ".txt", ".toml")) or word.startswith("tests/"):
                assert (ROOT / word).exists(), word
        extras = [re.fullmatch(r"\.\[(\w+)\]", word) for word in words]
        assert all(found.group(1) in project["optional-dependencies"] for found in extras if found)
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_every_file_that_is_named_exists():
    paths = re.findall(r"`((?:simstore|tests|reports|scenarios|\.ci)/[\w./-]+)`", TEXT)

    assert len(paths) > 25
    assert [path for path in paths if not (ROOT / path).exists()] == []


def test_the_floors_are_those_that_are_tested():
    drawn = next(text for text in blocks_in(GUIDE, "text") if "cli" in text)
    floor, told = None, {}
    for line in drawn.splitlines():
        number, rooms = line[:3], re.match(r"[\d ]{3}(\w+(?:, \w+)*)  +", line + "   ")
        floor = int(number) if number.strip() else floor
        if rooms:
            told |= dict.fromkeys(rooms.group(1).split(", "), floor)

    assert told == {room: floor for room, floor in test_floors.FLOORS.items() if not room.startswith("__")}


def test_what_waits_is_offered_in_the_order_that_is_told():
    verbs = {
        "unload": "unload an oven", "load": "load one", "receive": "take in a delivery", "visit": "for a reader",
        "replace": "replace one", "exchange": "exchange packets", "prepare": "prepare packets", "inspect": "read enclosures",
        "rehouse": "move objects",
    }  # fmt: skip
    told = " ".join(TEXT.split("that still fits into it: ")[1].split(" When nothing")[0].split())
    offered = everything_waits.offered()
    places, begin = [], 0
    for task in offered:
        begin = told.index(verbs[task], begin)
        places.append(begin)
        begin += 1

    assert places == sorted(places)
    assert len(offered) == told.count(", ") + 1 - 2, "each step once; the brackets hold two more commas"


def test_the_same_bytes_come_of_any_order_of_replications():
    scenario = load_scenario(ROOT / "scenarios" / "tiny")
    alone = simulate(scenario, "strip", replication=1)
    among = replicate(scenario, ["strip"], 2)[1]

    assert among.enclosures.excess_pct_days.tobytes() == alone.enclosures.excess_pct_days.tobytes()
    assert among.exchanges == alone.exchanges
