"""Finds with wood, leather or bone: a plan that dries them is not green, and says so."""

from dataclasses import replace
from pathlib import Path

import pytest

from simstore.errors import SimstoreError
from simstore.questions.store import Store
from simstore.results.metrics import metrics_of
from simstore.scenario.reading.load import load_scenario
from simstore.sim.run import simulate

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def limited(limit, *, rows=None):
    tiny = load_scenario(TINY)
    if rows is None:
        return tiny.with_changes({"metals.iron.lower_limit_rh_pct": limit, "metals.iron.standard_pct": 10.0})
    own = tuple(
        each.model_copy(update={"lower_limit_rh_pct": limit}) if each.id in rows else each for each in tiny.enclosures
    )
    return replace(tiny, enclosures=own)


def test_held_days_with_a_lower_limit_are_those_between_the_two():
    record = simulate(limited(9.0), "quarterly")
    year = record.enclosures
    named = {row.metric: row.value for row in metrics_of(record)}
    for n, metal in enumerate(year.metal):
        days = year.day_mean_rh_pct[n]
        between = (days <= 15.0) & (days >= 9.0) if metal == "iron" else days <= 38.0
        assert abs(int(year.held_days[n]) - int(between.sum())) <= 1  # the means are kept in single precision
    assert named["too_dry_pct.iron"] > 0.0
    assert "too_dry_pct.copper" not in named


def test_a_plan_that_dries_what_must_not_be_dry_does_not_hold_and_says_so():
    answer = Store(limited(9.0).with_changes({"metals.iron.standard_pct": 95.0})).run("quarterly", replications=2)
    assert answer.words.startswith("Plan 'quarterly' does NOT keep iron")
    assert "Too dry: iron lies below the lower limit of 9 %RH on" in answer.words
    without = Store(load_scenario(TINY)).run("quarterly", replications=2)
    assert "Too dry" not in without.words


def test_a_limit_of_one_enclosure_counts_for_it_alone():
    free, bound = simulate(limited(9.0, rows=()), "quarterly"), simulate(limited(9.0, rows={"B001"}), "quarterly")
    changed = [
        n for n, (a, b) in enumerate(zip(free.enclosures.held_days, bound.enclosures.held_days, strict=True)) if a != b
    ]
    assert [free.enclosures.id[n] for n in changed] == ["B001"]


def test_limits_that_leave_nothing_between_them_are_refused(tmp_path):
    with pytest.raises(SimstoreError, match="is not below the ceiling, 15 %RH"):
        limited(15.0)
    for name in ("scenario.toml", "register.csv"):
        (tmp_path / name).write_bytes((TINY / name).read_bytes())
    text = (tmp_path / "register.csv").read_text(encoding="utf-8").splitlines()
    lines = [f"{line},{'lower_limit_rh_pct' if n == 0 else '40' if n == 1 else ''}" for n, line in enumerate(text)]
    (tmp_path / "register.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(SimstoreError, match="lower_limit_rh_pct = 40: is not below the ceiling of its metal"):
        load_scenario(tmp_path)
