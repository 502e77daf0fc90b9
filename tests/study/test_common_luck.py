"""Common luck cuts the variance of a difference; the benchmark of the same name measures the demonstration store."""

import numpy as np
import pytest

from simstore.lab.bench import Bench
from simstore.lab.harvest import METRICS
from simstore.plans.variant import Variant
from simstore.results.series import series
from simstore.statistics.intervals import variance_ratio

REPLICATIONS = 16


def ratio(scenario, variants, metric):
    runs = Bench(scenario).run(variants, METRICS, range(REPLICATIONS))
    return variance_ratio(*(np.array(series(rows, metric)) for rows in runs.values()))


@pytest.fixture(scope="module")
def varied_years(tiny_with_bags):
    """Years that differ, and exchanges rare enough for some iron to go over."""
    return tiny_with_bags.with_changes({"climate.year_sd_rh_pct": 4.0})


def two_cadences(other_seed):
    cadence = "plans.quarterly.cadence_weeks"
    return {
        "30": Variant("quarterly", ((cadence, 30),)),
        "40": Variant("quarterly", ((cadence, 40), ("seed", other_seed))),
    }


def test_two_cadences_share_their_luck(varied_years):
    variants = two_cadences(varied_years.settings.seed)

    assert ratio(varied_years, variants, "held_pct.iron") >= 4.0


def test_a_deliberately_wrong_seed_scheme_shares_nothing(varied_years):
    variants = two_cadences(varied_years.settings.seed + 1)

    assert ratio(varied_years, variants, "held_pct.iron") < 2.0


def test_boxes_and_bags_of_known_leaks_share_the_weather(varied_years):
    layers = {"clip_box": 1, "triple_bag": 3}
    known = varied_years.with_changes(
        {
            f"kinds.{kind}.layers.{layer}.leak_per_day.sigma_ln": 0.0
            for kind, count in layers.items()
            for layer in range(count)
        },
    )
    variants = {plan: Variant(plan) for plan in ("boxes", "bags")}

    assert ratio(known, variants, "energy_kwh") >= 4.0
