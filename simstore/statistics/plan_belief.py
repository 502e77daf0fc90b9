"""What is believed of every plan of a search, from a coarse model and from the runs of some plans."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simstore.statistics.common_luck import separated
from simstore.statistics.residual_field import ResidualField

FloatArray = NDArray[np.float64]
DRAWS = 240
NORMAL_POINTS = 8
NORMAL_WORTH = 4.0
"""So many points of a normal luck, worth so many runs, stand beside the luck that was seen in a few."""
EXPECTED_LUCK_SD = 0.4
EXPECTED_OWN_SD = 0.3
EXPECTED_COST_SD = 0.01
LUCK_FREEDOM = 3.0
"""Spread of the luck, of a score and of a cost that is expected beforehand; the first is worth so many runs."""
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
    share, share_low : ndarray
        Share of runs that hold: mean, and what it exceeds in nine draws of ten.
    best : ndarray
        How often the plan is the cheapest good one in draws of all that is not known.
    """

    cost: FloatArray
    cost_sd: FloatArray
    share: FloatArray
    share_low: FloatArray
    best: FloatArray


class CoarseModel(NamedTuple):
    """What is expected of every plan before any run, and where a plan stands among the others.

    Attributes
    ----------
    cost, score : ndarray, shape (plans,)
        Expected cost and score.
    places : ndarray, shape (plans, coordinates)
        Coordinates of the plans, each in 0..1.
    groups : ndarray of int, shape (plans,)
        Plans of one group err alike.
    score_error, cost_error : float
        Standard deviation of the error that is expected of the score, and of the logarithm of the cost.
    """

    cost: FloatArray
    score: FloatArray
    places: FloatArray
    groups: NDArray[np.intp]
    score_error: float = 0.5
    cost_error: float = 0.1


def believed(
    model: CoarseModel, seen: Mapping[int, Sequence[Run]], good_enough: float, rng: np.random.Generator
) -> Belief:
    """Work out what is believed of every plan.

    Parameters
    ----------
    model : CoarseModel
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
    score0, log_cost0 = model.score, np.log(model.cost)
    score_field = ResidualField(model.places, model.groups, model.score_error)
    cost_field = ResidualField(model.places, model.groups, model.cost_error)
    shift, score_sd = score_field.given(at, scores.level - score0[at], scores.level_sd)
    more, cost_sd = cost_field.given(at, costs.level - log_cost0[at], costs.level_sd)
    count = len(score0)
    drawn = score0 + shift + score_sd * rng.standard_normal((DRAWS, count))
    shares = _shares(drawn, scores.luck, scores.own_sd, rng)
    _own_counts(shares, seen, rng)
    log_cost = log_cost0 + more
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
