"""The running proof of a share: valid at every look at once."""

import bisect
import math

import numpy as np
import pytest
from scipy.integrate import quad

from simstore.statistics.running_proof import is_proven, log_evidence, share_proven


@pytest.mark.parametrize(("held", "runs", "no_more_than"), [(5, 5, 0.9), (38, 40, 0.9), (30, 40, 0.5), (0, 7, 0.3)])
def test_the_evidence_is_the_mean_likelihood_ratio_over_the_alternatives(held, runs, no_more_than):
    def ratio(p):
        return (p / no_more_than) ** held * ((1 - p) / (1 - no_more_than)) ** (runs - held)

    mean = quad(ratio, no_more_than, 1.0, epsabs=0, epsrel=1e-10)[0] / (1 - no_more_than)

    assert log_evidence(held, runs, no_more_than) == pytest.approx(math.log(mean), rel=1e-8)


@pytest.mark.parametrize("share", [0.7, 0.85, 0.9])
def test_what_is_no_more_than_the_target_is_seldom_proven_though_one_looks_after_every_run(share):
    # Ville 1939: at most 5 % ever; 2000 sequences have a standard error of 0.5 points.
    luck = np.random.default_rng(5)
    held = np.cumsum(luck.random((2000, 300)) < share, axis=1)
    edge = [
        bisect.bisect_left(range(n + 1), True, key=lambda h, n=n: is_proven(h, n, 0.9, 0.05)) for n in range(1, 301)
    ]
    ever = (held >= np.array(edge)).any(axis=1)

    assert ever.mean() <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 2000)


def test_a_share_well_above_the_target_is_proven_soon():
    # 45 runs without a miss: 0.9^45 is 0.9 %, and the mean over alternatives is the integral of (p / 0.9)^45.
    assert is_proven(45, 45, 0.9, 0.05)
    assert (1 - 0.9**46) / (46 * 0.1 * 0.9**45) > 20


def test_the_share_proven_is_where_the_evidence_just_suffices():
    share = share_proven(95, 97, 0.05)

    assert is_proven(95, 97, share - 1e-9, 0.05)
    assert not is_proven(95, 97, share + 1e-6, 0.05)


def test_nothing_seen_proves_nothing():
    assert share_proven(0, 0, 0.05) == 0.0
    assert share_proven(0, 9, 0.05) == 0.0


@pytest.mark.parametrize(("held", "runs", "share"), [(3, 2, 0.9), (-1, 2, 0.9)])
def test_more_runs_that_held_than_runs_are_refused(held, runs, share):
    with pytest.raises(ValueError, match=r"held must lie in 0..runs"):
        log_evidence(held, runs, share)


def test_a_hypothesis_that_is_no_share_is_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        log_evidence(1, 2, 1.0)
