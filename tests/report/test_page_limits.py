"""What the page says is not modelled: always, and for a scenario in which nothing fails or nobody looks."""

from dataclasses import replace

import pytest

from simstore.prose.sections.limits import limits_section
from simstore.results.reading import read_result_folder


@pytest.fixture(scope="module")
def folder(results):
    return read_result_folder(results)


def said(folder, plan="quarterly", **changes):
    """Points of the section by catchword, with parts of the settings changed."""
    settings = folder.scenario.settings
    for table, values in changes.items():
        rows = {name: row.model_copy(update=values) for name, row in getattr(settings, table).items()}
        settings = settings.model_copy(update={table: rows})
    changed = replace(folder, scenario=replace(folder.scenario, settings=settings))
    return dict(limits_section(changed, plan).blocks[0].points)


def test_dry_air_and_short_peaks_are_said_to_be_left_out(folder):
    points = said(folder)

    for word in ("wood", "leather", "textile", "bone", "ivory", "composite", "somebody must decide for each"):
        assert word in points["A lower limit of humidity."]
    assert "mean humidity of a day" in points["Peaks shorter than a day."]


LEFT_OUT = "Bad luck that the scenario leaves out."
ENCLOSURES, OVENS, SICK = "no failures of enclosures", "no breakdowns of ovens", "no sickness"
NEVER = {
    "kinds": {"failures_per_year": 0.0}, "ovens": {"failures_per_year": 0.0}, "technicians": {"sick_days_per_year": 0.0},
}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "absent"),
    [
        ({}, {ENCLOSURES, OVENS, SICK}),
        ({"kinds": {"failures_per_year": 0.1}}, {OVENS, SICK}),
        ({"ovens": {"failures_per_year": 0.1, "count": 1}}, {ENCLOSURES, SICK}),
        ({"ovens": {"failures_per_year": 0.1, "count": 0}}, {ENCLOSURES, OVENS, SICK}),
        ({"technicians": {"sick_days_per_year": 5.0}}, {ENCLOSURES, OVENS}),
    ],
)
def test_bad_luck_that_is_not_in_the_scenario_is_said_not_to_happen(folder, changes, absent):
    text = said(folder, **(NEVER | changes))[LEFT_OUT]

    assert {what for what in (ENCLOSURES, OVENS, SICK) if what in text} == absent
    assert "none happen in these runs" in text


def test_with_all_bad_luck_in_the_scenario_nothing_is_said_of_it(folder):
    points = said(
        folder, kinds={"failures_per_year": 0.1}, ovens={"failures_per_year": 0.1, "count": 1},
        technicians={"sick_days_per_year": 5.0},
    )  # fmt: skip

    assert LEFT_OUT not in points


def test_where_nobody_reads_enclosures_it_says_that_nobody_would_notice(folder):
    looking = "Looking at enclosures."

    assert folder.scenario.settings.plans["strip"].rule == "reading"
    assert looking not in said(folder, "strip")
    for plan in ("quarterly", "forecast"):
        assert "a box left open" in said(folder, plan)[looking]
        assert "not in the hours or the budget" in said(folder, plan)[looking]
