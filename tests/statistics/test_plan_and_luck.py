"""Plan and luck are told apart by least squares."""

import numpy as np
import pytest

from simstore.statistics.common_luck import separated


def test_without_noise_plan_and_luck_come_back():
    levels, luck = np.array([1.0, -2.0, 0.5]), np.array([0.3, -0.1, 0.4, -0.6])
    found = separated([(level + luck)[:runs] for level, runs in zip(levels, (4, 2, 1), strict=True)], 0.0)

    assert found.luck == pytest.approx(luck, abs=1e-6)
    assert found.level == pytest.approx(levels, abs=1e-6)


def test_it_is_the_solution_of_the_normal_equations():
    rng = np.random.default_rng(3)
    values = [rng.normal(size=runs) for runs in (8, 8, 4, 2)]
    found = separated(values, 0.5)
    rows, answers = [], []
    for plan, each in enumerate(values):
        for replication, value in enumerate(each):
            row = np.zeros(4 + 8)
            row[plan] = row[4 + replication] = 1.0
            rows.append(row)
            answers.append(value)
    rows.append(np.r_[np.zeros(4), np.ones(8)])  # the luck has mean 0
    answers.append(0.0)
    solution = np.linalg.lstsq(np.array(rows), np.array(answers), rcond=None)[0]

    assert found.level == pytest.approx(solution[:4], abs=1e-6)
    assert found.luck == pytest.approx(solution[4:], abs=1e-6)


def test_a_plan_tried_twice_is_compared_on_the_same_replications():
    # Two good years first: the bare means would put the second plan above the first by 0.75.
    luck = np.array([1.0, 1.0, -1.0, -1.0, 0.0, 0.0])
    found = separated([luck, 0.25 - 0.5 + luck[:2]], 0.1)

    assert found.level[1] - found.level[0] == pytest.approx(-0.25, abs=1e-6)
