"""Common luck cuts the variance of a difference; the benchmark of the same name measures the demonstration store."""

from dataclasses import replace

import numpy as np
import pytest

from simstore.lab.cases import Case, metrics_kept, run_cases, series
from simstore.statistics.intervals import variance_ratio

REPLICATIONS = 16


def ratio(cases, metric):
    runs = run_cases(cases, metrics_kept, REPLICATIONS)
    return variance_ratio(*(np.array(series(runs[case.name], metric)) for case in cases))


@pytest.fixture(scope="module")
def varied_years(tiny_with_bags):
    """Years that differ, and exchanges rare enough for some iron to go over."""
    return tiny_with_bags.with_changes({"climate.year_sd_rh_pct": 4.0})


def two_cadences(scenario, other_seed):
    slower = scenario.with_changes({"plans.quarterly.cadence_weeks": 40, "seed": other_seed})
    sooner = scenario.with_changes({"plans.quarterly.cadence_weeks": 30})
    return [Case(name=name, scenario=one, plan="quarterly") for name, one in (("30", sooner), ("40", slower))]


def test_two_cadences_share_their_luck(varied_years):
    cases = two_cadences(varied_years, varied_years.settings.seed)

    assert ratio(cases, "held_pct.iron") >= 4.0


def test_a_deliberately_wrong_seed_scheme_shares_nothing(varied_years):
    cases = two_cadences(varied_years, varied_years.settings.seed + 1)

    assert ratio(cases, "held_pct.iron") < 2.0


def test_boxes_and_bags_of_known_leaks_share_the_weather(varied_years):
    layers = {"clip_box": 1, "triple_bag": 3}
    known = varied_years.with_changes(
        {
            f"kinds.{kind}.layers.{layer}.leak_per_day.sigma_ln": 0.0
            for kind, count in layers.items()
            for layer in range(count)
        },
    )
    cases = [Case(name=plan, scenario=replace(known), plan=plan) for plan in ("boxes", "bags")]

    assert ratio(cases, "energy_kwh") >= 4.0
