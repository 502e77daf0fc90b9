r"""The inside of many enclosures, advanced at once: air and packing on one side, gel on the other.

Each enclosure is a pair of water stores. The *near* store is the air with the hygroscopic packing, of capacity
:math:`K = B + V c_{sat}(T)` per unit of relative humidity; the other is the gel. With relative humidities as
fractions, :math:`u` in the air, :math:`h(q, T)` over the gel and :math:`u_o` in the room, and all at room temperature,

.. math::
    K \dot u = g_w (u_o - u) + g_p (h - u), \qquad m \dot q = g_p (u - h),

where :math:`g = G\,p_{sat}(T)`. The room is constant within an hour. For an isotherm that is linear over the block of
hours, each hour is solved exactly by the exponential of the 2 x 2 matrix, however stiff the pair is; the isotherm is
made linear anew for each block. Most enclosures are near balance most of the time, and a store room changes little
within a day: they take one matrix for the whole block, in its eigenvectors. Those for which an estimate says that this
is not good enough are done again with a matrix for each hour, and those whose isotherm bends too much over the block
are done again in halves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simstore.physics.enclosures import Curves, Pairs, Room, Trace
from simstore.physics.pair import FloatArray, pair_step
from simstore.units import SECONDS_PER_DAY, SECONDS_PER_HOUR, ZERO_CELSIUS_K

__all__ = ["CURVE_TOLERANCE", "STEADY_TOLERANCE", "Curves", "Pairs", "Room", "Trace", "advance"]

CURVE_TOLERANCE: Final = 1e-4
"""Error of the RH over the gel, as a fraction, above which a block is halved."""
STEADY_TOLERANCE: Final = 2e-4
"""Estimated error of the RH inside, as a fraction, above which each hour gets its own matrix."""
QUICK_CHANGE_PER_DAY: Final = 0.005
"""A packet whose RH could change by this fraction in a day, from 0 to 100 %RH outside, is not taken as steady."""
ALIKE_K: Final = 1.0
"""Range of temperature within which a wall's conductance is taken as constant."""
SHARE_WEIGHT: Final = 10.0
"""How much more the estimate counts for an enclosure whose wall lets through as much as its packet's cover."""
SHORTEST_STEP_S: Final = 0.5
_TINY: Final = 1e-300


def advance(pairs: Pairs, room: Room, first_hour: int, hours: int, *, every_end: bool = False) -> Trace:
    """Advance every enclosure by ``hours`` from ``first_hour`` of ``room``; the state in ``pairs`` is replaced.

    Parameters
    ----------
    pairs : Pairs
        Enclosures and their state.
    room : Room
        Hourly air of the room.
    first_hour, hours : int
        Half-open span of hours; 24 hours a call is usual, and more is allowed.
    every_end : bool
        Give the RH at the end of every hour, not of the last one only.

    Returns
    -------
    Trace
        Hourly RH inside and the water that came through the walls.

    Notes
    -----
    Against an adaptive stiff solver on the same equations the RH agrees within 0.05 %RH at the end of every hour
    (see the outside checks). Water is conserved to round-off.
    """
    span = slice(first_hour, first_hour + hours)
    rows = _Rows(
        room.temp_c[span],
        room.activity[span],
        room.psat_pa[span],
        room.content_kg_per_m3[span],
        room.inverse_k[span],
        np.full(hours, 3600.0),
    )
    steady = _steady_block(pairs, rows, every_end)
    unsteady = steady.store(pairs, None, STEADY_TOLERANCE)
    if unsteady.size:
        steady.trace.replace(unsteady, _advance(pairs, rows, unsteady))
    return steady.trace


@dataclass(frozen=True, slots=True)
class _Rows:
    """Time steps with constant room air; arrays of shape (steps,)."""

    temp_c: FloatArray
    activity: FloatArray
    psat_pa: FloatArray
    content_kg_per_m3: FloatArray
    inverse_k: FloatArray
    step_s: FloatArray

    def part(self, begin: int, end: int) -> _Rows:
        cut = slice(begin, end)
        return _Rows(
            self.temp_c[cut],
            self.activity[cut],
            self.psat_pa[cut],
            self.content_kg_per_m3[cut],
            self.inverse_k[cut],
            self.step_s[cut],
        )

    def quartered(self) -> _Rows:
        """Give the one step as four shorter ones."""
        return _Rows(
            temp_c=np.repeat(self.temp_c, 4),
            activity=np.repeat(self.activity, 4),
            psat_pa=np.repeat(self.psat_pa, 4),
            content_kg_per_m3=np.repeat(self.content_kg_per_m3, 4),
            inverse_k=np.repeat(self.inverse_k, 4),
            step_s=np.repeat(self.step_s / 4, 4),
        )


@dataclass(frozen=True, slots=True)
class _Outcome:
    """A block of hours as computed, with an estimate of its error; not yet the state."""

    near_kg: FloatArray
    water_kg: FloatArray
    terms: tuple[FloatArray, FloatArray, FloatArray]
    inverse_k: float
    trace: Trace
    error: FloatArray

    def store(self, pairs: Pairs, index: NDArray[np.intp] | None, tolerance: float) -> NDArray[np.intp]:
        """Make this the state of those of ``index`` (None: all) with a tolerable error; return the other columns."""
        bad = self.error > tolerance
        keep: NDArray[np.bool_] | slice = ~bad if bad.any() else slice(None)
        target = keep if index is None else index[keep]
        pairs.near_kg[target] = self.near_kg[keep]
        pairs.water_kg[target] = self.water_kg[keep]
        pairs.ln_h[target], pairs.per_inverse_k[target], pairs.per_kg[target] = (term[keep] for term in self.terms)
        pairs.inverse_k[target] = self.inverse_k
        return np.flatnonzero(bad)


def _advance(pairs: Pairs, rows: _Rows, index: NDArray[np.intp]) -> Trace:
    """Advance the enclosures ``index`` over ``rows``, halving the span for those whose curve bends too much."""
    outcome = _hourly_block(pairs, rows, index)
    trace = outcome.trace
    steps = len(rows.step_s)
    last = steps == 1 and rows.step_s[0] <= SHORTEST_STEP_S
    bad = outcome.store(pairs, index, np.inf if last else CURVE_TOLERANCE)
    if bad.size == 0:
        return trace
    members = index[bad]
    if steps > 1:
        middle = steps // 2
        halves = [_advance(pairs, part, members) for part in (rows.part(0, middle), rows.part(middle, steps))]
        joined = Trace(
            np.concatenate([half.mean_activity for half in halves]),
            np.concatenate([half.end_activity for half in halves]),
            halves[0].inflow_kg + halves[1].inflow_kg,
        )
    else:
        fine = _advance(pairs, rows.quartered(), members)
        joined = Trace(fine.mean_activity.mean(axis=0, keepdims=True), fine.end_activity[-1:], fine.inflow_kg)
    trace.replace(bad, joined)
    return trace


def _end_terms(
    pairs: Pairs, index: NDArray[np.intp] | slice, water_kg: FloatArray, gel_kg: FloatArray, temp_c: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Isotherm made linear about the water at the end of a block: ln h, and its slopes with 1/T and with kilograms."""
    packed = gel_kg > 0
    safe = np.where(packed, gel_kg, 1.0)
    ln_h, per_inverse_k, per_q = pairs.curves.log_activity_terms(index, water_kg / safe, temp_c)
    return ln_h, per_inverse_k, np.where(packed, per_q / safe, 0.0)


def _steady_block(pairs: Pairs, rows: _Rows, every_end: bool) -> _Outcome:
    r"""Advance every enclosure over ``rows`` with one matrix for all steps, in its eigenvectors.

    The mean temperature of the block gives the matrix. Between steps the modes :math:`z_1 + z_2 = u - u_o` are pushed
    by the room's humidity, and by what the temperature does to the RH over the gel (to second order in 1/T) and, at
    constant water, to the RH of the air. The error estimate adds the bend of the isotherm, the third order in 1/T, and
    a quarter of the relative range of the rates times the distance from balance.
    """
    count = len(rows.step_s)
    step_s = float(rows.step_s[0])
    psat = _mean(rows.psat_pa)
    base_k = _mean(rows.inverse_k)
    offset = rows.inverse_k - base_k
    capacity = pairs.capacity_kg(_mean(rows.content_kg_per_m3))
    wall = pairs.wall_at(_mean(rows.temp_c))
    wall *= psat
    packet = psat * pairs.packet_kg_per_s_pa
    middle = np.exp(np.minimum(pairs.ln_h + pairs.per_inverse_k * (base_k - pairs.inverse_k), 0.0))
    step = pair_step(capacity, wall, packet, middle * pairs.per_kg, step_s)

    by_temp = middle * pairs.per_inverse_k
    by_temp2 = 0.5 * by_temp * pairs.per_inverse_k
    gel_first = middle + offset[0] * by_temp + offset[0] ** 2 * by_temp2
    gel_last = middle + offset[-1] * by_temp + offset[-1] ** 2 * by_temp2
    source = 0.0 if pairs.source_kg_per_h is None else pairs.source_kg_per_h * (step_s / SECONDS_PER_HOUR)
    start = (pairs.near_kg + source) / pairs.capacity_kg(float(rows.content_kg_per_m3[0]))
    off_air = start - rows.activity[0]
    by_air = step.a_less_slow / step.gap
    by_gel = step.c / step.gap
    # Modes at the start of each step, the fast one first.
    modes = np.empty((count, 2, len(start)))
    np.subtract(by_air * off_air, by_gel * (gel_first - rows.activity[0]), out=modes[0, 0])
    np.subtract(off_air, modes[0, 0], out=modes[0, 1])
    if count > 1:
        modes[1:] = _pushes(rows, offset, by_air, by_gel, by_temp, by_temp2, start * pairs.air_m3 / capacity)
        if pairs.source_kg_per_h is not None:
            modes[1:, 0] += by_air * source / capacity
            modes[1:, 1] += (1.0 - by_air) * source / capacity
        decay = np.empty(modes.shape[1:])
        decay[0] = step.fast_end
        decay[1] = step.slow_end
        carried = np.empty_like(decay)
        for k in range(1, count):
            np.multiply(modes[k - 1], decay, out=carried)
            modes[k] += carried
    mean = modes[:, 0] * (step.fast_mean / step_s)
    mean += modes[:, 1] * (step.slow_mean / step_s)
    inflow = np.add.reduce(mean, axis=0)
    inflow *= wall
    inflow *= -step_s
    mean += rows.activity[:, None]
    tail = modes if every_end else modes[-1:]
    end = tail[:, 0] * step.fast_end
    end += tail[:, 1] * step.slow_end
    end += rows.activity[-len(end) :, None]

    near = pairs.capacity_kg(float(rows.content_kg_per_m3[-1])) * end[-1]
    packed = pairs.gel_kg > 0
    at_start = pairs.near_kg + source * count
    gained = np.where(packed, at_start + inflow - near, 0.0)
    inflow = near - at_start + gained
    water = pairs.water_kg + gained
    terms = _end_terms(pairs, slice(None), water, pairs.gel_kg, float(rows.temp_c[-1]))
    error = np.abs(np.exp(np.minimum(terms[0], 0.0)) - gel_last - middle * pairs.per_kg * gained)
    error[middle * wall * pairs.per_kg * SECONDS_PER_DAY > QUICK_CHANGE_PER_DAY] = 1.0
    error[~packed] = 1.0
    share = wall / (wall + packet + _TINY)
    unbalance = np.abs(off_air - (1.0 - share) * (gel_first - rows.activity[0]))
    unbalance += np.abs(gel_last - gel_first)
    unbalance += float(rows.activity.max() - rows.activity.min()) * share
    if count > 1:
        kick = float(np.abs(rows.content_kg_per_m3[1:] - rows.content_kg_per_m3[:-1]).max())
        unbalance += kick * start * pairs.air_m3 / capacity
    unbalance *= 0.25 * (float(rows.psat_pa.max() / rows.psat_pa.min()) - 1.0)
    coldest, warmest = float(rows.temp_c.min()), float(rows.temp_c.max())
    if warmest - coldest > ALIKE_K:
        swing = np.abs(pairs.wall_at(warmest) - pairs.wall_at(coldest)) * (0.5 * psat) / (wall + _TINY)
        apart = np.maximum(abs(rows.activity.max() - middle), abs(rows.activity.min() - middle))
        unbalance += share * (1.0 - share) * swing * apart
    widest = float(max(offset.max(), -offset.min()))
    unbalance += middle * np.abs(pairs.per_inverse_k * widest) ** 3 * packed
    # Where the packet's own resistance counts, the estimate was found too small by several times.
    unbalance *= 1.0 + SHARE_WEIGHT * share
    np.maximum(error, unbalance, out=error)
    return _Outcome(near, water, terms, float(rows.inverse_k[-1]), Trace(mean, end, inflow), error)


def _pushes(
    rows: _Rows,
    offset: FloatArray,
    by_air: FloatArray,
    by_gel: FloatArray,
    by_temp: FloatArray,
    by_temp2: FloatArray,
    by_content: FloatArray,
) -> FloatArray:
    """Give what happens to the two modes between steps, shape (steps - 1, 2, enclosures).

    Each is a sum of four products of something of the hour and something of the enclosure.
    """
    square = offset * offset
    of_hour = np.stack(
        (
            offset[1:] - offset[:-1],
            square[1:] - square[:-1],
            rows.content_kg_per_m3[:-1] - rows.content_kg_per_m3[1:],
            rows.activity[:-1] - rows.activity[1:],
        ),
        axis=1,
    )
    count = len(by_air)
    of_enclosure = np.empty((4, 2, count))
    np.multiply(-by_gel, by_temp, out=of_enclosure[0, 0])
    np.multiply(-by_gel, by_temp2, out=of_enclosure[1, 0])
    np.multiply(by_air, by_content, out=of_enclosure[2, 0])
    np.subtract(by_air, by_gel, out=of_enclosure[3, 0])
    np.negative(of_enclosure[0:2, 0], out=of_enclosure[0:2, 1])
    np.subtract(by_content, of_enclosure[2, 0], out=of_enclosure[2, 1])
    np.subtract(1.0, of_enclosure[3, 0], out=of_enclosure[3, 1])
    pushes: FloatArray = (of_hour @ of_enclosure.reshape(4, 2 * count)).reshape(-1, 2, count)
    return pushes


def _mean(values: FloatArray) -> float:
    """Mean without the ceremony of `numpy.mean`, which costs as much as a step of a small store."""
    return float(np.add.reduce(values)) / len(values)


def _hourly_block(pairs: Pairs, rows: _Rows, index: NDArray[np.intp]) -> _Outcome:
    """Advance ``index`` over ``rows`` with a matrix for each step and the isotherm linear about the start."""
    gel = pairs.gel_kg[index]
    packed = gel > 0
    water = pairs.water_kg[index]
    over_gel = pairs.per_inverse_k[index] * (rows.inverse_k[:, None] - pairs.inverse_k[index])
    over_gel += pairs.ln_h[index]
    np.minimum(over_gel, 0.0, out=over_gel)
    np.exp(over_gel, out=over_gel)
    slope = over_gel * pairs.per_kg[index]

    psat = rows.psat_pa[:, None]
    capacity = rows.content_kg_per_m3[:, None] * pairs.air_m3[index]
    capacity += pairs.packing_kg[index]
    wall = pairs.walls_of(index, rows.temp_c)
    wall *= psat
    packet = psat * pairs.packet_kg_per_s_pa[index]
    matrix = pair_step(capacity, wall, packet, slope, rows.step_s[:, None]).matrix()
    gain_air = (1.0 - matrix.air_air) * capacity
    gain_air -= wall * matrix.mean_air
    gain_gel = -capacity * matrix.air_gel
    gain_gel -= wall * matrix.mean_gel

    off_air = np.empty_like(over_gel)
    off_gel = over_gel - rows.activity[:, None]
    end = np.empty_like(over_gel)
    gained = np.zeros_like(water)
    path = np.zeros_like(over_gel)
    step_h = rows.step_s[0] / SECONDS_PER_HOUR
    source = 0.0 if pairs.source_kg_per_h is None else pairs.source_kg_per_h[index] * step_h
    inside = (pairs.near_kg[index] + source) / capacity[0]
    for k, outside in enumerate(rows.activity):
        if k:
            inside = (end[k - 1] * capacity[k - 1] + source) / capacity[k]
        d = off_air[k] = inside - outside
        off_gel[k] += slope[k] * gained
        e = off_gel[k]
        end[k] = matrix.air_air[k] * d + matrix.air_gel[k] * e + outside
        gained += gain_air[k] * d + gain_gel[k] * e
        path[k] = gained
    integral = matrix.mean_air * off_air + matrix.mean_gel * off_gel
    inflow = -np.einsum("ke,ke->e", wall, integral)
    mean = integral / rows.step_s[:, None] + rows.activity[:, None]

    gained *= packed
    water = water + gained
    near = capacity[-1] * end[-1]
    terms = _end_terms(pairs, index, water, gel, float(rows.temp_c[-1]))
    error = np.abs(np.exp(np.minimum(terms[0], 0.0)) - over_gel[-1] - slope[-1] * gained)
    np.maximum(error, _bend_on_the_way(pairs, index, path, gained, _mean(rows.inverse_k)), out=error)
    # The slope of ln h with q goes about as 1/T.
    steeper = rows.inverse_k[:, None] / pairs.inverse_k[index] - 1.0
    np.maximum(error, np.abs(slope * path * steeper).max(axis=0), out=error)
    return _Outcome(near, water, terms, float(rows.inverse_k[-1]), Trace(mean, end, inflow), error * packed)


def _bend_on_the_way(
    pairs: Pairs, index: NDArray[np.intp], path: FloatArray, gained: FloatArray, inverse_k: float
) -> FloatArray:
    """Bend of the isotherm at the most and the least water within a block, where that is not at its end."""
    error = np.zeros_like(gained)
    temp_c = 1.0 / inverse_k - ZERO_CELSIUS_K
    ln_middle = pairs.ln_h[index] + pairs.per_inverse_k[index] * (inverse_k - pairs.inverse_k[index])
    middle = np.exp(np.minimum(ln_middle, 0.0))
    for extreme in (path.max(axis=0), path.min(axis=0)):
        reach = extreme * pairs.per_kg[index]
        turned = np.abs(extreme - gained) > 0.2 * np.abs(extreme)
        which = np.flatnonzero((pairs.gel_kg[index] > 0) & turned & (middle * reach * reach > CURVE_TOLERANCE))
        if which.size:
            own = index[which]
            ln_h = _end_terms(pairs, own, pairs.water_kg[own] + extreme[which], pairs.gel_kg[own], temp_c)[0]
            bend = np.abs(np.exp(np.minimum(ln_h, 0.0)) - middle[which] * (1.0 + reach[which]))
            error[which] = np.maximum(error[which], bend)
    return error
