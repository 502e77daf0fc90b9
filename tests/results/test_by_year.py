"""What is judged year by year."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from simstore.results.by_year import held_by_year, score, years_of

METALS = {
    "iron": SimpleNamespace(ceiling_rh_pct=15.0, standard_pct=99.0),
    "lead": SimpleNamespace(ceiling_rh_pct=45.0, standard_pct=100.0),
}


def run(days, means, metal, objects, limits=None):
    return SimpleNamespace(
        days=days, metal=metal, objects=np.array(objects), day_mean_rh_pct=np.asarray(means, dtype=np.float32),
        lower_limit_rh_pct=np.zeros(len(objects)) if limits is None else np.array(limits, dtype=float),
    )  # fmt: skip


def test_a_day_below_the_lower_limit_is_not_held():
    means = np.full((2, 365), 10.0)
    means[0, :73] = 7.0  # too dry for the first, which bears 9 %RH and more; the second has no limit
    held = held_by_year(run(365, means, ["iron", "iron"], [1, 3], [9.0, 0.0]), METALS)

    assert held["iron"].tolist() == pytest.approx([100 * (1 - 0.25 * 73 / 365)])


def test_each_year_is_counted_for_itself_and_each_object_counts():
    means = np.full((2, 730), 10.0)
    means[0, 0:73] = 16.0  # a fifth of the first year, three of four objects
    means[1, 729] = 15.0  # at the ceiling is held
    held = held_by_year(run(730, means, ["iron", "iron"], [3, 1]), METALS)

    assert held["iron"].tolist() == pytest.approx([100 * (1 - 0.75 * 73 / 365), 100.0])


def test_days_without_the_object_do_not_count():
    means = np.full((1, 730), np.nan)
    means[0, 365:] = 20.0
    held = held_by_year(run(730, means, ["iron"], [2]), METALS)

    assert math.isnan(held["iron"][0])
    assert held["iron"][1] == 0.0


@pytest.mark.parametrize(("days", "years"), [(1, 1), (365, 1), (366, 2), (1825, 5)])
def test_what_begins_counts_as_a_year(days, years):
    assert years_of(days) == years


def test_the_score_changes_sign_exactly_at_the_standard():
    assert score({"iron": np.array([99.0, 100.0])}, METALS) == pytest.approx(0.0, abs=1e-12)
    assert score({"iron": np.array([98.999, 100.0])}, METALS) < 0.0
    assert score({"iron": np.array([99.001, 100.0])}, METALS) > 0.0


def test_the_worst_year_of_the_worst_class_decides():
    # (1 + 0.02) / (0.49 + 0.02) = 2; what the standard of 100 % allows is nothing, and nothing was missed.
    assert score({"iron": np.array([99.51, 99.9]), "lead": np.array([100.0, 100.0])}, METALS) == pytest.approx(0.0)
    assert score({"iron": np.array([99.51, 99.9])}, METALS) == pytest.approx(math.log(2.0))


def test_with_nothing_to_hold_there_is_no_score():
    assert math.isnan(score({"iron": np.array([math.nan])}, METALS))
