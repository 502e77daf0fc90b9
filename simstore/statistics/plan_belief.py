"""What is believed of every plan of a search, from the runs of some."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simstore.statistics.common_luck import separated
from simstore.statistics.smooth_field import SmoothField

FloatArray = NDArray[np.float64]
DRAWS = 240
NORMAL_POINTS = 8
NORMAL_WORTH = 4.0
"""So many points of a normal luck, worth so many runs, stand beside the luck that was seen in a few."""
EXPECTED_LUCK_SD = 0.4
EXPECTED_OWN_SD = 0.3
EXPECTED_COST_SD = 0.01
"""Spread between runs of one plan that is expected beforehand: of luck, of a score, of the logarithm of a cost."""
LUCK_FREEDOM = 3.0
"""What is expected of the common luck is worth so many runs."""
EXPECTED_SCORE_RANGE = 1.0
EXPECTED_COST_RANGE = 0.25
"""Spread between plans that is expected beforehand, of their scores and of the logarithms of their costs."""
OWN_COUNTS_FROM = 24
"""From so many runs on, what a plan's own runs say of it counts beside the model."""
MODEL_WORTH = 16.0
"""What the model says of a plan is worth so many of its own runs."""


class Run(NamedTuple):
    """What one run of one plan gave: its cost, and a score that is at or above 0 if it held."""

    cost: float
    score: float


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of every plan at one moment; arrays of shape (plans,).

    Attributes
    ----------
    cost, cost_sd : ndarray
        Expected cost and its relative error.
    share, share_low, share_high : ndarray
        Share of runs that hold: mean, what it exceeds in nine draws of ten, and what it falls below in as many.
    best : ndarray
        How often the plan is the cheapest good one in draws of all that is not known.
    """

    cost: FloatArray
    cost_sd: FloatArray
    share: FloatArray
    share_low: FloatArray
    share_high: FloatArray
    best: FloatArray


class Grid(NamedTuple):
    """Where each plan stands among the others.

    Attributes
    ----------
    places : ndarray, shape (plans, coordinates)
        Coordinates, each in 0..1: what is varied, from its least to its greatest value.
    groups : ndarray of int, shape (plans,)
        Plans of one group do alike; of other groups less is believed.
    """

    places: FloatArray
    groups: NDArray[np.intp]


def believed(grid: Grid, seen: Mapping[int, Sequence[Run]], good_enough: float, rng: np.random.Generator) -> Belief:
    """Work out what is believed of every plan.

    Parameters
    ----------
    grid : Grid
    seen : mapping of int to sequence of Run
        By plan, replications 0, 1, 2 ...; at least one plan has one.
    good_enough : float
        Share of runs from which on a plan counts as good.
    rng : Generator
        Draws what is not known.
    """
    at = np.array(sorted(seen), dtype=np.intp)
    scores = separated([np.array([run.score for run in seen[i]]) for i in at], EXPECTED_OWN_SD)
    costs = separated([np.log([max(run.cost, 1e-9) for run in seen[i]]) for i in at], EXPECTED_COST_SD)
    score, score_sd = SmoothField(*grid, EXPECTED_SCORE_RANGE).given(at, scores.level, scores.level_sd)
    log_cost, cost_sd = SmoothField(*grid, EXPECTED_COST_RANGE).given(at, costs.level, costs.level_sd)
    count = len(score)
    drawn = score + score_sd * rng.standard_normal((DRAWS, count))
    shares = _shares(drawn, scores.luck, scores.own_sd, rng)
    _own_counts(shares, seen, rng)
    drawn_cost = log_cost + cost_sd * rng.standard_normal((DRAWS, count))
    good = shares >= good_enough
    winner = np.argmin(np.where(good, drawn_cost, np.inf), axis=1)
    none = ~good.any(axis=1)
    winner[none] = np.argmax(shares[none], axis=1)
    return Belief(
        cost=np.exp(log_cost),
        cost_sd=cost_sd,
        share=shares.mean(axis=0),
        share_low=np.quantile(shares, 0.1, axis=0),
        share_high=np.quantile(shares, 0.9, axis=0),
        best=np.bincount(winner, minlength=count) / DRAWS,
    )


def _shares(drawn: FloatArray, luck: FloatArray, own_sd: float, rng: np.random.Generator) -> FloatArray:
    """Share of runs that hold at each drawn level, in a luck that is drawn from what was seen of it."""
    from scipy.special import ndtr, ndtri

    runs = len(luck)
    sd = math.sqrt((float(luck @ luck) + LUCK_FREEDOM * EXPECTED_LUCK_SD**2) / (runs - 1.0 + LUCK_FREEDOM))
    points = sd * ndtri((np.arange(NORMAL_POINTS) + 0.5) / NORMAL_POINTS)
    all_luck = np.concatenate((luck, points))
    weight = np.concatenate((np.ones(runs), np.full(NORMAL_POINTS, NORMAL_WORTH / NORMAL_POINTS)))
    weights = rng.gamma(weight, size=(len(drawn), len(all_luck)))
    weights /= weights.sum(axis=1, keepdims=True)
    grid = np.linspace(-4.0 * (sd + own_sd), 6.0 * sd + 4.0 * own_sd, 160)
    curves = weights @ ndtr((grid[:, None] + all_luck[None, :]) / max(own_sd, 1e-6)).T
    return np.array([np.interp(level, grid, curve) for level, curve in zip(drawn, curves, strict=True)])


def _own_counts(shares: FloatArray, seen: Mapping[int, Sequence[Run]], rng: np.random.Generator) -> None:
    """Let the runs of a plan that has many speak for it, beside the model."""
    for i, runs in seen.items():
        if len(runs) >= OWN_COUNTS_FROM:
            mean = float(shares[:, i].mean())
            held = sum(run.score >= 0.0 for run in runs)
            a, b = held + MODEL_WORTH * mean, len(runs) - held + MODEL_WORTH * (1.0 - mean)
            shares[:, i] = rng.beta(max(a, 1e-3), max(b, 1e-3), size=len(shares))
