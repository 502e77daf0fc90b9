"""Which uncertain inputs matter: elementary effects over the whole range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ElementaryEffects:
    """Screening measures, one for each input, in the unit of the output per whole range of the input.

    Attributes
    ----------
    mean : ndarray, shape (inputs,)
        Mean effect (mu): its sign says which way the input works.
    mean_absolute : ndarray, shape (inputs,)
        Mean of the absolute effect (mu star): ranks the inputs.
    spread : ndarray, shape (inputs,)
        Standard deviation of the effects (sigma): large if the input is not linear or works together with others.
    mean_absolute_error : ndarray, shape (inputs,)
        Standard error of ``mean_absolute`` over the trajectories.
    """

    mean: FloatArray
    mean_absolute: FloatArray
    spread: FloatArray
    mean_absolute_error: FloatArray


def trajectories(inputs: int, count: int, rng: np.random.Generator, *, levels: int = 4) -> FloatArray:
    """Random walks through a grid of the unit cube in which every input moves exactly once.

    Each step is ``levels / (2 (levels - 1))``, so that all levels are visited equally often.

    Parameters
    ----------
    inputs : int
        Number of inputs.
    count : int
        Number of trajectories; 10 to 50 are usual.
    rng : numpy.random.Generator
        Source of the start points, directions and orders.
    levels : int
        Even number of grid levels, at least 2.

    Returns
    -------
    ndarray, shape (count, inputs + 1, inputs)
        Points in 0..1; the model is run once at each, ``count * (inputs + 1)`` times in all.

    References
    ----------
    .. [1] M. D. Morris, "Factorial sampling plans for preliminary computational experiments", Technometrics 33, 1991,
       161-174.
    """
    if inputs < 1 or count < 1 or levels < 2 or levels % 2:
        msg = f"need at least 1 input, 1 trajectory and an even number of levels, got {inputs}, {count}, {levels}"
        raise ValueError(msg)
    half = levels // 2
    low = rng.integers(0, half, size=(count, inputs)) / (
        levels - 1
    )  # each input lives on a pair of levels, low and high
    up = rng.integers(0, 2, size=(count, inputs)).astype(bool)
    moved_at = np.argsort(rng.random((count, inputs)), axis=1)  # the step after which each input has moved
    moved = np.arange(inputs + 1)[None, :, None] > moved_at[:, None, :]
    return np.asarray(low[:, None, :] + half / (levels - 1) * (moved == up[:, None, :]))


def elementary_effects(points: FloatArray, outputs: ArrayLike) -> ElementaryEffects:
    """Effects of each input along ``trajectories``.

    Parameters
    ----------
    points : ndarray, shape (count, inputs + 1, inputs)
        As made by ``trajectories``.
    outputs : array_like, shape (count, inputs + 1)
        Output of the model at each point. With a noisy model, use the same luck at all points of a trajectory.

    References
    ----------
    .. [1] M. D. Morris, "Factorial sampling plans for preliminary computational experiments", Technometrics 33, 1991,
       161-174 (mu and sigma).
    .. [2] F. Campolongo, J. Cariboni and A. Saltelli, "An effective screening design for sensitivity analysis of large
       models", Environmental Modelling & Software 22, 2007, 1509-1518 (mu star).
    """
    y = np.asarray(outputs, dtype=np.float64)
    if y.shape != points.shape[:2] or points.shape[1] != points.shape[2] + 1:
        msg = f"outputs of shape {y.shape} do not fit trajectories of shape {points.shape}"
        raise ValueError(msg)
    steps = np.diff(points, axis=1)  # exactly one input differs in each step
    which = np.argmax(np.abs(steps), axis=2)
    size = np.take_along_axis(steps, which[:, :, None], axis=2)[:, :, 0]
    effects = np.empty(which.shape)
    np.put_along_axis(effects, which, np.diff(y, axis=1) / size, axis=1)
    count = effects.shape[0]
    spread = effects.std(axis=0, ddof=1) if count > 1 else np.full(effects.shape[1], np.nan)
    absolute = np.abs(effects)
    error = absolute.std(axis=0, ddof=1) / np.sqrt(count) if count > 1 else np.full(effects.shape[1], np.nan)
    return ElementaryEffects(effects.mean(axis=0), absolute.mean(axis=0), spread, error)
