"""What the README says is so: its commands run, its links lead somewhere, its words are those of the program."""

import re
import subprocess
import sys
import tomllib

import pytest
from make_reports import PICTURE, REPLICATIONS
from written_page import ROOT, commands_of, links_of

README = ROOT / "README.md"
TEXT = README.read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def simstore(*words, **options):
    return subprocess.run(
        [sys.executable, "-m", "simstore", *map(str, words)], capture_output=True, text=True, timeout=600, **options
    )


def command_names():
    listed = simstore("--help").stdout.split("Commands:\n")[1]
    return re.findall(r"^  (\w+) ", listed, re.MULTILINE)


def test_it_says_that_the_demonstration_is_invented_and_defers_to_data_sheets_and_local_rules():
    assert "**invented**" in TEXT
    assert all(
        word in TEXT.split("## Safety")[1] for word in ("safety data sheets", "local rules", "licensed", "cobalt")
    )


def test_the_python_that_it_asks_for_is_the_one_that_the_package_asks_for():
    (least,) = re.findall(r"Python (3\.\d+) or newer", TEXT)

    assert PROJECT["requires-python"] == f">={least}"


def test_every_command_of_the_set_up_makes_the_environment_fills_it_or_is_there_once_it_is_filled():
    """Nobody installs in a test: each command must be one that the earlier ones bring."""
    there = {"python3"}
    for program, *words in commands_of(README):
        assert program in there, f"{program} is not there yet"
        if words[:2] == ["-m", "venv"]:
            there.add(f"{words[2]}/bin/pip")
        elif words[:2] == ["install", "-e"]:
            extra = re.fullmatch(r"\.(?:\[(\w+)\])?", words[2]).group(1)
            needs = [*PROJECT["dependencies"], *(PROJECT["optional-dependencies"][extra] if extra else ())]
            scripts = {*PROJECT["scripts"], *(["pytest"] if any(need.startswith("pytest>") for need in needs) else ())}
            there |= {program.replace("pip", script) for script in scripts}
        elif program.endswith("/simstore"):
            assert words[0] in command_names()
            assert (ROOT / words[1]).exists()
    assert {name.rpartition("/")[2] for name in there} >= {"simstore", "pytest"}


@pytest.fixture(scope="module")
def demonstration(made_once):
    """Run the first line's last command to the letter, but for its folder."""

    def make(folder):
        words = commands_of(README)[2]
        words[words.index("--out") + 1] = str(folder / "out")
        return simstore(*words[1:], cwd=ROOT)

    folder, process = made_once("readme", make)
    return process, folder / "out"


def test_the_demonstration_of_the_first_line_leaves_the_report_that_is_named(demonstration):
    process, out = demonstration

    assert process.returncode == 0, process.stderr
    assert "out/river_depot/report.html" in TEXT
    assert (out / "report.html").stat().st_size > 100_000


def test_the_picture_is_that_of_the_demonstration(demonstration):
    made = demonstration[1] / "pictures" / PICTURE.name

    assert f"reports/river_depot/{PICTURE.name}" in TEXT
    assert commands_of(README)[2][-2:] == [str(REPLICATIONS), "--report"]
    assert title_of(PICTURE) == title_of(made), "run python tests/make_reports.py"


def title_of(png):
    """Title that the picture carries, which is its finding in words and figures."""
    data = png.read_bytes()
    begin = data.index(b"tEXtTitle\0") + 10
    return data[begin : begin + int.from_bytes(data[begin - 14 : begin - 10], "big") - 6]


def test_every_command_is_in_the_table_and_every_command_of_the_table_exists():
    named = re.findall(r"^\| `simstore (\w+)", TEXT, re.MULTILINE)

    assert sorted(named) == sorted(command_names())


@pytest.mark.parametrize("line", re.findall(r"^\| `simstore ([^`]+)`", TEXT, re.MULTILINE))
def test_a_command_has_the_options_that_the_table_gives_it(line):
    name, *words = line.split()
    said = simstore(name, "--help")

    assert said.returncode == 0
    assert all(word in said.stdout for word in words if word.startswith("--"))


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "scenarios/TUTORIAL.md", "reports/model.md"])
def test_every_link_leads_to_a_file(page):
    links = links_of(ROOT / page)

    assert [target for target in links if not (ROOT / page).parent.joinpath(target).exists()] == []


def test_commands_and_files_in_running_text_exist():
    paths = re.findall(r"`((?:simstore|tests|reports|scenarios)/[\w./-]+)`", TEXT)

    assert [path for path in paths if not (ROOT / path).exists()] == []


PLACES = (r"/home/", r"/root/", r"/work/", r"/tmp/", r"\bshared/", r"[a-z]+://[\w.-]*(?:pypi|mirror|proxy|artifactory)")


def test_no_tracked_text_names_a_path_of_a_machine_or_a_registry():
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a git clone")
    faults = []
    for name in filter(None, listed.stdout.split("\0")):
        path = ROOT / name
        if not path.is_file() or path.suffix in (".png", ".xlsx") or path == ROOT / "tests" / "test_readme.py":
            continue
        text = path.read_text(encoding="utf-8", errors="replace")
        faults += [f"{name}: {found}" for place in PLACES for found in re.findall(place, text)[:1]]

    assert faults == []
