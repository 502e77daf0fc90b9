"""Screening of inputs, against functions whose effects are known exactly."""

from __future__ import annotations

import math

import numpy as np
import pytest

from simstore.statistics.elementary_effects import elementary_effects, trajectories


def test_each_step_moves_one_input_by_the_step_of_morris_within_the_cube():
    points = trajectories(5, 40, np.random.default_rng(1), levels=6)
    steps = np.diff(points, axis=1)

    assert points.shape == (40, 6, 5)
    assert points.min() >= 0.0
    assert points.max() <= 1.0 + 1e-12
    assert np.all((np.abs(steps) > 1e-12).sum(axis=2) == 1)
    assert np.all((np.abs(steps) > 1e-12).sum(axis=1) == 1)
    # Morris 1991: the step is p / (2 (p - 1)) = 6 / 10.
    assert np.abs(steps).sum(axis=2) == pytest.approx(np.full((40, 5), 0.6))


def test_all_levels_and_both_directions_are_visited_equally_often():
    points = trajectories(3, 20_000, np.random.default_rng(2))
    start = np.round(points[:, 0, :] * 3).astype(int)
    counts = np.stack([(start == level).mean(axis=0) for level in range(4)])

    assert counts == pytest.approx(np.full((4, 3), 0.25), abs=0.013)
    assert (np.diff(points, axis=1).sum(axis=1) > 0).mean(axis=0) == pytest.approx(np.full(3, 0.5), abs=0.015)


def test_effects_of_a_linear_function_are_its_coefficients_without_spread():
    points = trajectories(4, 7, np.random.default_rng(3))
    effects = elementary_effects(points, points @ [3.0, -2.0, 0.0, 0.5] + 10.0)

    assert effects.mean == pytest.approx([3.0, -2.0, 0.0, 0.5])
    assert effects.mean_absolute == pytest.approx([3.0, 2.0, 0.0, 0.5])
    assert effects.spread == pytest.approx(np.zeros(4), abs=1e-12)
    assert effects.mean_absolute_error == pytest.approx(np.zeros(4), abs=1e-12)


def test_an_interaction_shows_as_spread_with_the_exact_moments():
    # Exact for y = x1 x2 on the levels 0, 1/3, 2/3, 1: the effect of x1 is x2, of mean 1/2 and variance 5/36.
    points = trajectories(2, 50_000, np.random.default_rng(4))
    effects = elementary_effects(points, points[..., 0] * points[..., 1])

    assert effects.mean == pytest.approx([0.5, 0.5], abs=0.006)
    assert effects.spread == pytest.approx(np.full(2, math.sqrt(5 / 36)), abs=0.005)


def ishigami(x):
    # Ishigami & Homma 1990 with a = 7, b = 0.1.
    return np.sin(x[..., 0]) + 7 * np.sin(x[..., 1]) ** 2 + 0.1 * x[..., 2] ** 4 * np.sin(x[..., 0])


# Source: SALib's regression test of Morris screening (tests/test_regression.py), Ishigami with 4 levels and many
# trajectories: mu star 7.682808, 7.875, 6.256295, themselves a sample. Exact on that grid, by hand:
# x1: 1.5 sin(pi/3) (1 + 0.1 mean x3^4) = 7.7041; x2: 7 sin^2(pi/3) 3/2 = 7.875;
# x3: 0.1 * 1.5 * mean|sin x1| * (pi^4 - (pi/3)^4) = 6.2488.
EXACT = [7.7041, 7.875, 6.2488]
SALIB = [7.682808, 7.875, 6.256295]


def test_mean_absolute_effects_of_the_ishigami_function_are_exact_within_their_own_standard_error():
    points = trajectories(3, 5000, np.random.default_rng(5))
    effects = elementary_effects(points, ishigami((2 * points - 1) * math.pi))

    assert effects.mean_absolute[1] == pytest.approx(7.875, abs=1e-9)
    assert np.all(np.abs(effects.mean_absolute - EXACT) <= 3 * effects.mean_absolute_error + 5e-5)
    assert effects.mean_absolute == pytest.approx(SALIB, rel=0.05)


def test_one_trajectory_has_effects_but_no_spread():
    points = trajectories(2, 1, np.random.default_rng(6))
    effects = elementary_effects(points, points.sum(axis=2))

    assert effects.mean == pytest.approx([1.0, 1.0])
    assert np.isnan(effects.spread).all()
    assert np.isnan(effects.mean_absolute_error).all()


def test_impossible_designs_are_refused():
    rng = np.random.default_rng(7)
    with pytest.raises(ValueError, match="even number of levels"):
        trajectories(2, 3, rng, levels=5)
    with pytest.raises(ValueError, match="do not fit trajectories"):
        elementary_effects(trajectories(2, 3, rng), np.zeros((3, 2)))
