"""Intervals cover the truth of a toy store as often as they say; the fast form of the benchmark of the same name."""

from __future__ import annotations

import importlib.util
import math
from pathlib import Path

import numpy as np
import pytest

PATH = Path(__file__).parents[1] / "benchmarks" / "interval_coverage.py"


@pytest.fixture(scope="module")
def bench():
    spec = importlib.util.spec_from_file_location("coverage_benchmark", PATH)
    module = importlib.util.module_from_spec(spec)
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(__import__("sys").modules, "coverage_benchmark", module)  # dataclasses look their module up
        spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("years", [30, 100])
def test_intervals_cover_the_truth_in_95_of_100_repetitions(bench, years):
    found = bench.coverage(1000, years)

    assert bench.broken_promises(found) == []
    assert found["mean"] == pytest.approx(0.95, abs=0.02)
    assert found["difference"] == pytest.approx(0.95, abs=0.02)
    assert found["share"] >= 0.93
    assert found["share, lower limit"] >= 0.93


def test_the_truth_by_quadrature_is_the_truth_of_the_simulation(bench):
    cost, good = bench.simulate(bench.BOXES, bench.luck((200_000,), np.random.default_rng(1)))
    true_cost, true_share = bench.truth(bench.BOXES)

    assert abs(cost.mean() - true_cost) <= 3.5 * cost.std() / math.sqrt(cost.size)
    assert abs(good.mean() - true_share) <= 3.5 * good.std() / math.sqrt(good.size)


def test_common_random_numbers_cut_the_variance_of_the_toy_difference_at_least_four_times(bench):
    assert bench.coverage(100, 100)["variance ratio"] >= 4


def test_the_check_fails_for_years_that_share_one_wetness(bench):
    # The fault: the luck of one year serves for all years of a study, so they are not independent.
    rng = np.random.default_rng(2)
    wetness, quarters, years = bench.luck((300, 30), rng)
    same = np.broadcast_to(wetness[:, :1], wetness.shape)
    costs, _ = bench.simulate(bench.BOXES, (same, quarters, years))
    true_cost, _ = bench.truth(bench.BOXES)
    covered = [i.low <= true_cost <= i.high for i in map(bench.mean_interval, costs)]

    assert np.mean(covered) < 0.93


@pytest.mark.parametrize("years", [10, 30])
def test_a_lower_limit_of_a_skewed_level_covers_as_it_says(bench, years):
    # Student's bound covers .876 at n = 10 and .905 at n = 30 (an independent measurement, beta(20, 1)).
    assert bench.coverage_of_a_skewed_level(2000, years) == pytest.approx(0.95, abs=0.02)


def test_the_benchmark_reports_and_ends_well(bench, capsys):
    assert bench.main(1000) == 0
    assert "all promises kept" in capsys.readouterr().out


def test_broken_promises_are_named(bench):
    found = {"mean": 0.90, "difference": 0.98, "share": 0.92, "share, lower limit": 0.99}

    assert bench.broken_promises(found) == ["mean 0.900", "difference 0.980", "share 0.920"]
