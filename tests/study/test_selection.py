"""Kim and Nelson's procedure: constants from the formula in print, and the probability of correct selection."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from simstore.statistics.least_mean import kim_nelson_constants, select_least, variances_of_differences

SYSTEMS, GAP_SD, FIRST, ERROR, RUNS = 10, 0.3, 20, 0.05, 300


# Source: eta and h2 of procedure KN (Kim & Nelson 2001) with c = 1, evaluated from the printed formula apart from this
# code (no printed numerical example was at hand): k = 10, n0 = 10 and k = 5, n0 = 20, alpha = .05.
@pytest.mark.parametrize(
    ("systems", "first", "eta", "h_squared"), [(10, 10, 0.859083, 15.4635), (5, 20, 0.237238, 9.01506)]
)
def test_constants_agree_with_the_typed_values(systems, first, eta, h_squared):
    constants = kim_nelson_constants(systems, first=first, error=0.05)

    assert constants.eta == pytest.approx(eta, abs=5e-7)
    assert constants.h_squared == pytest.approx(h_squared, abs=5e-5)


def test_eta_solves_the_equation_that_defines_it():
    # Kim & Nelson 2001 with c = 1: g(eta) = (1/2) (1 + 2 eta)^(-(n0 - 1) / 2) = alpha / (k - 1).
    for systems, first, error in [(2, 5, 0.1), (50, 30, 0.01)]:
        eta = kim_nelson_constants(systems, first=first, error=error).eta

        assert 0.5 * (1 + 2 * eta) ** (-(first - 1) / 2) == pytest.approx(error / (systems - 1), rel=1e-12)


LUCK_OF = {
    "own": lambda replication: replication,
    "three bits": lambda replication: replication & 7,
    "block": lambda replication: replication // 16,
}


@cache
def correct_selections(correlation, scheme="own"):
    """Share of right answers, and replications per system, in the slippage configuration (system 0 is best by the gap)."""
    right, spent = 0, 0.0
    means = np.full(SYSTEMS, GAP_SD)
    means[0] = 0.0
    for run in range(RUNS):
        rng = np.random.default_rng([20260101, run])
        shared, own = rng.normal(size=(1500, 1)), rng.normal(size=(1500, SYSTEMS))
        costs = means + math.sqrt(correlation) * shared + math.sqrt(1 - correlation) * own

        def draw(systems, replication, costs=costs):
            return costs[LUCK_OF[scheme](replication), systems]

        found = select_least(draw, SYSTEMS, indifference=GAP_SD, error=ERROR, first=FIRST)
        right += found.best == 0
        spent += found.replications.mean()
    return right / RUNS, spent / RUNS


LEAST_SHARE = 1 - ERROR - 3 * math.sqrt(ERROR * (1 - ERROR) / RUNS)


@pytest.mark.parametrize("correlation", [0.0, 0.5, 0.9])
def test_probability_of_correct_selection_is_kept_in_the_slippage_configuration(correlation):
    share, _ = correct_selections(correlation)

    assert share >= LEAST_SHARE


def test_common_random_numbers_save_replications():
    apart, together = (correct_selections(r)[1] for r in (0.0, 0.9))

    assert together < apart / 3


def test_the_check_fails_under_a_seed_scheme_that_reuses_replications():
    # The fault: the seed keeps only three bits of the replication number, so that replication 8 repeats replication 0.
    share, _ = correct_selections(0.0, "three bits")

    assert share < LEAST_SHARE


def test_the_check_fails_if_two_replications_in_a_row_share_their_luck_in_a_block():
    # The fault: a generator shared by a block of 16 replications and restarted for each of them.
    share, _ = correct_selections(0.5, "block")

    assert share < LEAST_SHARE


def test_systems_that_differ_by_constants_are_told_apart_in_the_first_look():
    found = select_least(lambda s, r: s + 10.0 * (r % 3), 6, indifference=0.5)

    assert (found.best, found.survivors, found.certain, found.looks) == (0, (0,), True, 1)
    assert found.replications.tolist() == [20] * 6
    assert [e.system for e in found.eliminated] == [1, 2, 3, 4, 5]


def test_eliminated_systems_are_never_drawn_again():
    rng = np.random.default_rng(7)
    asked = []

    def draw(systems, replication):
        asked.append((replication, systems.tolist()))
        return 2.0 * systems + rng.normal(size=systems.size)

    found = select_least(draw, 5, indifference=0.2, first=5)

    for gone in found.eliminated:
        assert all(gone.system not in systems for replication, systems in asked if replication >= gone.replications)
    assert [replication for replication, _ in asked] == list(range(len(asked)))
    assert sum(len(systems) for _, systems in asked) == found.replications.sum()


def test_equal_systems_end_at_the_last_stage_with_one_answer():
    rng = np.random.default_rng(8)
    found = select_least(lambda s, r: rng.normal(size=s.size), 3, indifference=1.0, first=10)

    assert found.certain
    assert found.best in found.survivors


def test_a_budget_that_ends_the_procedure_is_admitted():
    rng = np.random.default_rng(9)
    found = select_least(lambda s, r: rng.normal(size=s.size), 4, indifference=0.01, first=10, most=30)

    assert not found.certain
    assert len(found.survivors) > 1
    assert found.replications.max() == 30


def test_variances_of_differences_are_those_of_the_paired_sample():
    # By hand: differences 0, 0, 3 have mean 1 and variance (1 + 1 + 4) / 2 = 3.
    assert variances_of_differences(np.array([[1.0, 1.0], [2.0, 2.0], [6.0, 3.0]])).tolist() == [[0.0, 3.0], [3.0, 0.0]]


def test_impossible_questions_are_refused():
    with pytest.raises(ValueError, match="at least 2 systems"):
        kim_nelson_constants(1, first=10, error=0.05)
    with pytest.raises(ValueError, match="error must lie between"):
        kim_nelson_constants(2, first=10, error=0.5)
    with pytest.raises(ValueError, match="indifference must be above 0"):
        select_least(lambda s, r: s, 3, indifference=0.0)
    with pytest.raises(ValueError, match="one finite cost"):
        select_least(lambda s, r: [1.0], 3, indifference=1.0)
    with pytest.raises(ValueError, match="one finite cost"):
        select_least(lambda s, r: s * math.nan, 3, indifference=1.0)
