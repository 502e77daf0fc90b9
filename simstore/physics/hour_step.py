r"""One hour of one enclosure, whatever happens in it: right for everything, in as many parts as needed.

Within an hour the room is constant. For a part of it the gel's relative humidity is made linear about its water, in the
direction in which the water goes; then the chain of stores (`gap_chain`) is linear and solved exactly
(`linear_stores`). A part is taken again shorter where

* the curve over the gel at the end is not where the straight line led,
* gel with a loop turned on the way,
* a store filled up to saturation, or dried below it, and went on as if it had not.

Wet air
-------
Relative humidity ends at 100 %. Water beyond that is liquid: it stays where it is, at 100 %RH, until it has evaporated.
Gel beyond its capacity likewise. Below 0 degC saturation is that over supercooled liquid water, as hygrometers have it,
and liquid water does not freeze.
"""

from __future__ import annotations

import math
from typing import Final

from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.enclosure_rows import (
    AIR_WATER_KG,
    BRANCH,
    CURVE_DOWN,
    GEL_KG,
    GEL_WATER_KG,
    INFLOW_KG,
    LAYERS,
    PASSED_KG,
)
from simstore.physics.gap_chain import chain_rates, full_kg
from simstore.physics.gel_terms import gel_terms, moved_branch
from simstore.physics.linear_stores import diagonalise, phi
from simstore.physics.room_hours import ACTIVITY, CONTENT, INVERSE_K, LN_PSAT
from simstore.physics.working_rows import CAPACITY, CONDUCTANCE, COUPLING, END, FLOW, MEAN, RATE, THROUGH, X
from simstore.units import SECONDS_PER_HOUR

PART_TOLERANCE: Final = 1e-4
"""Error of a relative humidity, as a fraction, above which a part of an hour is taken again shorter."""
SHORTEST_S: Final = 10.0
"""A part as short as that stands whatever its error: only a few grams of gel in a gale come to it."""
MOST_GIVEN: Final = 0.9
"""Share of its water that gel gives off in one part at most, so that it never has less than none."""
DONE_S: Final = 1e-9
SATURATED: Final = 1.0 + 1e-12
STEADY: Final = 1e9
"""How much more a store takes that stays at 100 %RH while it holds liquid water."""


@compiled
def live_hour(
    own: FloatArray,
    state: FloatArray,
    forms: FloatArray,
    knots: FloatArray,
    air: FloatArray,
    source_kg_per_s: float,
    work: FloatArray,
    vectors: FloatArray,
) -> float:
    """Advance the water of one enclosure by an hour, and give the mean RH inside as a fraction.

    Parameters
    ----------
    own, state : ndarray
        Rows of the enclosure; see `enclosure_rows`. Its water, place in the loop and flows are replaced.
    forms, knots : ndarray
        From `curve_table`.
    air : ndarray
        Rows of the room in this hour; see `room_hours`.
    source_kg_per_s : float
        Water that objects give off into the inside. [kg/s]
    work, vectors : ndarray
        Working space.
    """
    layers = int(own[LAYERS])
    packed = own[GEL_KG] > 0.0
    mean = work[MEAN]
    left_s, step_s, total = SECONDS_PER_HOUR, SECONDS_PER_HOUR, 0.0
    while left_s > DONE_S:
        step_s = min(step_s, left_s)
        _stand(own, state, forms, knots, air, work)
        _linear_part(own, air, source_kg_per_s, step_s, work, vectors)
        gained, branch, error = 0.0, state[BRANCH], 0.0
        if packed:
            gained = work[CONDUCTANCE, layers] * step_s * (mean[layers - 1] - mean[layers])
            gained = max(gained, -MOST_GIVEN * state[GEL_WATER_KG])
            branch = moved_branch(own, branch, gained / own[GEL_KG])
            error = _gel_error(own, state, forms, knots, air, gained, branch, work)
        # Water through each layer, and what the packets take less what the objects give.
        before = air[ACTIVITY]
        for i in range(layers):
            work[THROUGH, i] = work[CONDUCTANCE, i] * step_s * (before - mean[i])
            before = mean[i]
        work[THROUGH, layers] = gained - source_kg_per_s * step_s
        for i in range(layers):
            full = full_kg(own, air[CONTENT], i)
            beyond = (state[AIR_WATER_KG + i] + work[THROUGH, i] - work[THROUGH, i + 1]) / full - 1.0
            error = max(error, -beyond if work[CAPACITY, i] > full else beyond)
        if error > PART_TOLERANCE and step_s > SHORTEST_S:
            step_s *= 0.5 if error < 8.0 * PART_TOLERANCE else 0.2
            continue
        for i in range(layers):
            state[AIR_WATER_KG + i] += work[THROUGH, i] - work[THROUGH, i + 1]
        state[GEL_WATER_KG] += gained
        state[BRANCH] = branch
        state[INFLOW_KG] += work[THROUGH, 0]
        state[PASSED_KG] += abs(work[THROUGH, 0])
        total += min(mean[layers - 1], 1.0) * step_s
        left_s -= step_s
        step_s *= 4.0 if error < 0.1 * PART_TOLERANCE else 1.4
    return total / SECONDS_PER_HOUR


@compiled
def _stand(
    own: FloatArray, state: FloatArray, forms: FloatArray, knots: FloatArray, air: FloatArray, work: FloatArray
) -> None:
    """Write down how the stores stand and what they take: of those with liquid water, all that comes."""
    layers = int(own[LAYERS])
    for i in range(layers):
        full = full_kg(own, air[CONTENT], i)
        wet = state[AIR_WATER_KG + i] > full * SATURATED
        work[X, i] = 1.0 if wet else state[AIR_WATER_KG + i] / full
        work[CAPACITY, i] = full * STEADY if wet else full
    if own[GEL_KG] > 0.0:
        q = state[GEL_WATER_KG] / own[GEL_KG]
        ln_h, _, _, by_q = gel_terms(own, forms, knots, q, state[BRANCH], True, air[INVERSE_K], air[LN_PSAT])
        over_gel = math.exp(min(ln_h, 0.0))
        if own[CURVE_DOWN] >= 0.0 and work[X, layers - 1] < over_gel:
            _, _, _, by_q = gel_terms(own, forms, knots, q, state[BRANCH], False, air[INVERSE_K], air[LN_PSAT])
        work[X, layers] = over_gel
        work[CAPACITY, layers] = own[GEL_KG] * (STEADY if ln_h >= 0.0 else 1.0 / (over_gel * by_q))


@compiled
def _linear_part(
    own: FloatArray, air: FloatArray, source_kg_per_s: float, step_s: float, work: FloatArray, vectors: FloatArray
) -> None:
    """Solve the linear chain over a part of the hour: end and mean of each store."""
    layers = int(own[LAYERS])
    size = layers + 1 if own[GEL_KG] > 0.0 else layers
    x, flow, capacity, mean, end = work[X], work[FLOW], work[CAPACITY], work[MEAN], work[END]
    chain_rates(own, air, size, work)
    before = air[ACTIVITY]
    for j in range(size):
        flow[j] = work[CONDUCTANCE, j] * (before - x[j])
        if j > 0:
            flow[j - 1] -= flow[j]
        before = x[j]
    flow[layers - 1] += source_kg_per_s
    diagonalise(size, work[RATE], work[COUPLING], vectors)
    for i in range(size):
        end[i] = x[i]
        mean[i] = x[i]
    for m in range(size):
        push = 0.0
        for i in range(size):
            push += vectors[i, m] * flow[i] / math.sqrt(capacity[i])
        phi1, phi2 = phi(max(work[RATE, m], 0.0) * step_s)
        for i in range(size):
            part = vectors[i, m] / math.sqrt(capacity[i]) * step_s * push
            end[i] += part * phi1
            mean[i] += part * phi2


@compiled
def _gel_error(
    own: FloatArray,
    state: FloatArray,
    forms: FloatArray,
    knots: FloatArray,
    air: FloatArray,
    gained_kg: float,
    branch: float,
    work: FloatArray,
) -> float:
    """Estimate what the straight line instead of the gel's curve, or a turn on the way, has done to the RH over it."""
    layers = int(own[LAYERS])
    last = layers - 1
    q = (state[GEL_WATER_KG] + gained_kg) / own[GEL_KG]
    ln_h, _, _, _ = gel_terms(own, forms, knots, q, branch, True, air[INVERSE_K], air[LN_PSAT])
    over_gel = math.exp(min(ln_h, 0.0))
    error = abs(over_gel - work[END, layers])
    if (work[X, last] - work[X, layers]) * (work[END, last] - over_gel) < 0.0:
        bow = abs(work[MEAN, layers] - 0.5 * (work[X, layers] + work[END, layers]))
        error = max(error, 2.0 * bow if own[CURVE_DOWN] >= 0.0 else 0.2 * bow)
    return float(error)
