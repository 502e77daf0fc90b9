"""A figure over a grid, carried from where it was measured to where it was not."""

import numpy as np
import pytest

from simstore.statistics.smooth_field import LENGTHS, SCALES, SmoothField


def grid(points=9):
    places = np.linspace(0.0, 1.0, points)[:, None]
    return places, np.zeros(points, dtype=np.intp)


def test_an_exact_measurement_is_returned_and_the_error_grows_with_distance():
    mean, sd = SmoothField(*grid(), 0.5).given(np.array([0]), np.array([0.4]), np.array([0.0]))

    assert mean[0] == pytest.approx(0.4, abs=1e-4)
    assert sd[0] < 1e-2
    assert (np.diff(sd) > 0).all()


def test_what_is_the_same_everywhere_is_learnt_from_a_few_points():
    mean, sd = SmoothField(*grid(), 0.5).given(np.array([0, 4, 8]), np.array([0.3, 0.3, 0.3]), np.full(3, 0.01))

    assert mean == pytest.approx(0.3, abs=0.03)
    assert sd.max() < 0.3


def test_it_is_the_conditional_normal_distribution():
    # Rasmussen and Williams 2006, equations 2.25 and 2.26, with the inverse written out, at the most likely of all
    # amplitudes and lengths.
    places = np.random.default_rng(1).random((6, 2))
    groups = np.array([0, 0, 0, 1, 1, 1])
    at, errors, noise = np.array([0, 2, 4]), np.array([0.1, -0.3, 0.2]), np.array([0.05, 0.1, 0.05])
    apart = ((places[:, None, :] - places[None, :, :]) ** 2).sum(axis=2)
    alike = groups[:, None] == groups[None, :]
    best = None
    for length in LENGTHS:
        for scale in SCALES:
            whole = (0.5 * scale) ** 2 * (0.25 + alike * (0.25 + 0.5 * np.exp(-apart / (2 * length**2))))
            seen = whole[np.ix_(at, at)] + np.diag(noise**2)
            likely = -0.5 * errors @ np.linalg.inv(seen) @ errors - 0.5 * np.log(np.linalg.det(seen))
            likely -= 0.5 * (np.log(scale) / 2.0) ** 2
            if best is None or likely > best[0]:
                towards = whole[:, at]
                mean = towards @ np.linalg.inv(seen) @ errors
                best = (likely, mean, np.diag(whole - towards @ np.linalg.inv(seen) @ towards.T))
    mean, sd = SmoothField(places, groups, 0.5).given(at, 7.0 + errors, noise)

    assert mean == pytest.approx(7.0 + best[1], abs=1e-9)
    assert sd**2 == pytest.approx(best[2], abs=1e-9)
