"""A small store with awkward names, simulated once for all tests of the report."""

import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from simstore.cli.app import app
from simstore.questions.run import run
from simstore.report.writing import write_report

TINY = Path(__file__).resolve().parents[2] / "scenarios" / "tiny"
PLANS = ["quarterly", "two_ovens", "strip", "forecast"]
HOSTILE = {
    'title = "Tiny store"': 'title = \'<script>alert("store")</script> & "co"\'',
    'label = "every 13 weeks"': 'label = \'=HYPERLINK("http://nowhere.invalid","<b>every</b> 13 weeks")\'',
    'label = "copper alloy"': "label = 'copper </td></table><img src=x onerror=alert(1)> alloy'",
    "wage_per_h = 24.0": "wage_per_h = 24.0  # quotation <i>of</i> 3 March",
    "cycle_h = 7": "cycle_h = 7  # measured on 12 loads in 2025\nunit_price = 900.0\nlife_years = 12.0",
}


def simulate(folder, *, replications=3, changes=HOSTILE, plans=tuple(PLANS)):
    """Run the changed tiny store; returns its folder of results."""
    store = folder / "store"
    shutil.copytree(TINY, store)
    text = (store / "scenario.toml").read_text(encoding="utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    (store / "scenario.toml").write_text(text, encoding="utf-8")
    out = folder / "results"
    return run(store, *plans, replications=replications, workers=1).save(out, pictures=False)


@pytest.fixture(scope="session")
def results(made_once):
    """Folder with results and report; do not change it."""
    place, _ = made_once("reported", lambda folder: write_report(simulate(folder), plan="two_ovens"))
    return place / "results"


@pytest.fixture(scope="session")
def page(results):
    """Path of the page."""
    return results / "report.html"


@pytest.fixture(scope="session")
def html(page):
    """Text of the page."""
    return page.read_text(encoding="utf-8")


def invoke(*arguments):
    """Run a command; fail with what it said."""
    done = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert done.exit_code == 0, f"{done.output}\n{done.exception}"
    return done.output


@pytest.fixture(scope="session")
def studies(results, made_once):
    """Folders of a comparison, a sweep, a stress test and a sensitivity study of the same store, by command."""
    common = ["--replications", 2, "--workers", 1]
    asked = {
        "compare": ["--plan", "quarterly", "--programme", "as_registered", "--programme", "boxes_only"],
        "sweep": ["--plan", "quarterly", "--vary", "plan.cadence_weeks=8,26"],
        "stress": ["--plan", "quarterly"],
        "sensitivity": ["--plan", "quarterly"],
    }

    def make(folder):
        for command, options in asked.items():
            invoke(command, results.parent / "store", *options, *common, "--out", folder / command)

    place, _ = made_once("studied", make)
    return {command: place / command for command in asked}


SPACE = """
[search]
plans = ["quarterly", "two_ovens"]

[search.vary]
"plans.quarterly.cadence_weeks" = [13, 26]
"plans.quarterly.programme" = ["as_registered", "boxes_only"]
"stock.small.ready" = [6, 12]
"""


@pytest.fixture(scope="session")
def searched(results, made_once):
    """Folder of a quick search of the same store with little proof, and of a run of the plan that it found."""

    def make(place):
        store = shutil.copytree(results.parent / "store", place / "store")
        with (store / "scenario.toml").open("a", encoding="utf-8") as file:
            file.write(SPACE)
        common = ["--budget", 50, "--marginal", 2, "--target", 0.2, "--confidence", 0.6, "--workers", 1]
        invoke("find", store, *common, "--out", place / "search")
        invoke(
            "run", store, "--found", place / "search", "--plan", "two_ovens", "--replications", 2, "--workers", 1,
            "--no-pictures", "--out", place / "run",
        )  # fmt: skip

    return made_once("searched", make)[0]
