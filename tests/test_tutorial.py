"""The tutorial, to the letter: the files that it gives, the edits that it asks for, the commands that it names."""

import json
import re
import subprocess
import sys

import pytest
from written_page import ROOT, blocks_of, commands_of, edited

TUTORIAL = ROOT / "scenarios" / "TUTORIAL.md"
SMALLER = {
    "run": ["--replications", "4", "--no-pictures", "--workers", "1"],
    "compare": ["--replications", "4", "--no-pictures", "--workers", "1"],
    "find": ["--target", "0.5", "--budget", "50", "--marginal", "0", "--workers", "1"],
}
"""Added to what computes, so that the test is quick (the last of two options counts); all else is what a reader does."""


def follow(home):
    """Do everything in an empty folder; return (words of the command, finished process) of each command."""
    store = home / "mystore"
    done = []
    for language, text in blocks_of(TUTORIAL):
        if language == "console":
            for line in text.splitlines():
                words = line.split()
                if words[0] == "simstore":
                    words += SMALLER.get(words[1], [])
                    command = [sys.executable, "-m", *words]
                    done.append((words, subprocess.run(command, cwd=home, capture_output=True, text=True, timeout=900)))
        elif language == "csv":
            register = store / "register.csv"
            if text.startswith("id,"):
                register.write_text(text)
            elif text.startswith("date,"):
                planned = (home / "out" / "mystore_week" / "sheet.csv").read_text().splitlines()
                assert [row.split(",")[:5] for row in text.splitlines()] == [row.split(",")[:5] for row in planned]
                (store / "done.csv").write_text(text)
            else:
                first = text.split(",")[0]
                lines = register.read_text().splitlines(keepends=True)
                register.write_text("".join(text if line.startswith(f"{first},") else line for line in lines))
        elif language == "toml":
            path = store / "scenario.toml"
            path.write_text(edited(path.read_text(), text))
    return done


@pytest.fixture(scope="module")
def followed(made_once):
    """Folder of somebody who has done it all, and what each command said."""
    return made_once("tutorial", follow)


def outcome(followed, *beginning):
    return [process for words, process in followed[1] if words[1 : 1 + len(beginning)] == list(beginning)]


def test_every_command_succeeds_but_the_check_of_the_mistake(followed):
    failed = [(words, process.stderr) for words, process in followed[1] if process.returncode]

    assert [words[1] for words, _ in failed] == ["check"], failed


def test_the_mistake_is_found_with_the_words_that_the_tutorial_shows(followed):
    (shown,) = [text.strip() for language, text in blocks_of(TUTORIAL) if language == "text"]

    assert shown in outcome(followed, "check")[0].stderr


def test_the_second_check_understands_what_the_tutorial_says_it_does(followed):
    said = outcome(followed, "check")[1].stdout

    assert re.search(r"^all +4 +8 +12$", said, re.MULTILINE)
    assert said.count("technician ") == 1
    assert said.count("oven ") == 1
    assert len(said.split("when none is named)\n")[1].split("\n\n")[0].splitlines()) == 5


def test_once_a_year_is_not_enough_for_the_iron(followed):
    assert outcome(followed, "run")[0].stdout.startswith("Plan 'yearly' does NOT keep iron")


def test_the_strip_needs_little_more_than_half_the_exchanges_of_the_calendar_and_holds_more_than_once_a_year(followed):
    plans = json.loads((followed[0] / "out" / "mystore_compare" / "summary.json").read_text())["plans"]
    mean = {plan: {name: row["mean"] for name, row in metrics.items()} for plan, metrics in plans.items()}

    assert mean["strip"]["exchanges"] < 0.6 * mean["quarterly"]["exchanges"]
    assert min(mean["strip"]["held_pct.iron"], mean["quarterly"]["held_pct.iron"]) > mean["yearly"]["held_pct.iron"] + 5


def test_the_sheet_comes_back_with_what_is_late_and_the_leakiest_box_is_the_one_that_gained_most(followed):
    said = outcome(followed, "returned")[0].stdout
    assert "5 exchanges, 5 weighings" in said
    assert "Late: 1 enclosures were not done: A-05" in said
    assert "The leakiest is A-04" in outcome(followed, "fit")[0].stdout


def test_the_report_and_the_workbook_are_there(followed):
    out = followed[0] / "out" / "mystore"

    assert "Our metals store" in (out / "report.html").read_text()
    assert (out / "budget.xlsx").stat().st_size > 5000


def test_it_claims_no_more_than_fifteen_minutes_and_its_steps_add_up_to_that():
    minutes = [int(found) for found in re.findall(r"^## \d .*\((\d) minutes?\)$", TUTORIAL.read_text(), re.MULTILINE)]

    assert sum(minutes) == 15


def test_its_commands_are_those_of_the_program_and_of_a_shell():
    assert {words[0] for words in commands_of(TUTORIAL)} == {"source", "simstore"}
