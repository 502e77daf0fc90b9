r"""A day of one enclosure, or a part of one, in a single step: for the long time in which hardly anything happens.

One matrix serves all hours of the block, that of their mean air. The gel is an end of the chain: its relative humidity
follows the hour's temperature (to second order) and drifts by the water that is on its way to it. Between it and the
room the air of the gaps and of the inside is solved in modes (`air_modes`), at a few multiplications an hour.

The wall lets through more in the warm hours, and so do the packets. What that does to the flow of a day, the covariance
of saturation pressure with the humidities on both sides, is added.

An estimate of the error says whether the block may stand; if not nothing has been changed, and the caller takes a
shorter one, in the end `hour_step`.
"""

from __future__ import annotations

import math
from typing import Final

from simstore.physics.air_modes import at_end, prepare_modes, through_hours
from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.enclosure_rows import (
    AIR_M3,
    AIR_WATER_KG,
    BRANCH,
    CURVE_DOWN,
    GEL_KG,
    GEL_WATER_KG,
    INFLOW_KG,
    LAYERS,
    PASSED_KG,
)
from simstore.physics.gap_chain import chain_rates, full_kg, wall_kg_per_s
from simstore.physics.gel_terms import gel_terms, moved_branch
from simstore.physics.linear_stores import diagonalise
from simstore.physics.room_hours import (
    ACTIVITY,
    COLDEST,
    CONTENT,
    DAMPEST,
    DRIEST,
    INVERSE_K,
    KICK,
    LN_PSAT,
    PRESSURE,
    PSAT,
    PSAT_INVERSE_K,
    WARMEST,
)
from simstore.physics.working_rows import (
    AT_INSIDE,
    CAPACITY,
    CONDUCTANCE,
    COUPLING,
    END,
    OVER_GEL,
    RAISED,
    RATE,
    WAY,
    X,
)
from simstore.units import SECONDS_PER_DAY, SECONDS_PER_HOUR

BLOCK_TOLERANCE: Final = 1.5e-4
"""Estimated error of a relative humidity, as a fraction, up to which a block may stand."""
QUICK_CHANGE_PER_DAY: Final = 0.005
"""Gel whose RH could change by more than this fraction in a day is no matter for blocks."""
DAMP: Final = 0.97
"""Relative humidity, as a fraction, from which a block does not look for liquid water but gives up."""
LEAST_WALL_KG_PER_S: Final = 1e-30
ALIKE_PER_K: Final = 2.4e-7
"""Span of 1/T times the wall's part of the conductance at the inside, within which all films change alike. [1/K]"""
MOST_GIVEN: Final = 0.5
"""Share of its water that gel may give off in a block."""
SHARE_WEIGHT: Final = 12.0
"""How much more the estimate counts for an enclosure whose wall lets through as much as its packet's cover."""
LN_PSAT_PER_INVERSE_K: Final = -5300.0


@compiled
def live_block(
    own: FloatArray,
    state: FloatArray,
    forms: FloatArray,
    knots: FloatArray,
    hours: FloatArray,
    begin: int,
    stop: int,
    air: FloatArray,
    source_kg_per_s: float,
    work: FloatArray,
    vectors: FloatArray,
    block: FloatArray,
) -> bool:
    """Advance one enclosure over a block of hours if it may be done in one step; say whether it was.

    Parameters
    ----------
    own, state : ndarray
        Rows of the enclosure; see `enclosure_rows`.
    forms, knots : ndarray
        From `curve_table`.
    hours : ndarray, shape (rows, hours)
        The room; see `room_hours`.
    begin, stop : int
        The block, half-open, within a day.
    air : ndarray, shape (rows,)
        What the block has of the room's rows; see `room_hours`.
    source_kg_per_s : float
        Water that objects give off into the inside. [kg/s]
    work, vectors : ndarray
        Working space.
    block : ndarray, shape (rows, 24)
        Working space by hours; out: its first row, the mean RH inside of each hour as a fraction.
    """
    if own[GEL_KG] <= 0.0 or not _starts_dry(own, state, hours, begin, air, work):
        return False
    layers, count = int(own[LAYERS]), stop - begin
    last = layers - 1
    x, conductance = work[X], work[CONDUCTANCE]

    # The gel's curve about its water, at the block's mean temperature.
    q, branch = state[GEL_WATER_KG] / own[GEL_KG], state[BRANCH]
    middle, by_k, by_ln, by_q, rising = _about(own, forms, knots, q, branch, x[last], air)
    per_kg = by_q / own[GEL_KG]
    wall = wall_kg_per_s(own, air)
    if middle >= 1.0 or middle * wall * per_kg * SECONDS_PER_DAY > QUICK_CHANGE_PER_DAY:
        return False
    chain_rates(own, air, layers, work)
    diagonalise(layers, work[RATE], work[COUPLING], vectors)
    packets = conductance[layers]
    share = wall / (wall + packets)
    shift = air[PRESSURE] / air[PSAT] - air[ACTIVITY]
    shift -= middle * (by_k + by_ln * LN_PSAT_PER_INVERSE_K) * (air[PSAT_INVERSE_K] / air[PSAT] - air[INVERSE_K])
    shift *= 1.0 - share

    # The gel through the hours: its temperature, and the water that is on its way to it.
    taken = (1.0 - share) * (wall * (air[ACTIVITY] + shift - middle) + source_kg_per_s)
    drift = middle * per_kg * taken * SECONDS_PER_HOUR
    over_gel = block[OVER_GEL]
    inverse_k, ln_psat = hours[INVERSE_K, begin:stop], hours[LN_PSAT, begin:stop]
    for k in range(count):
        warmth = by_k * (inverse_k[k] - air[INVERSE_K]) + by_ln * (ln_psat[k] - air[LN_PSAT])
        over_gel[k] = middle * (1.0 + warmth + 0.5 * warmth * warmth) + drift * (k + 0.5)
    over_gel_start, over_gel_end = over_gel[0] - 0.5 * drift, over_gel[count - 1] + 0.5 * drift

    # Where the air would come to rest: so much of the way from the room to the gel.
    outside = 0.0
    for i in range(layers):
        outside += 1.0 / conductance[i] if conductance[i] > 0.0 else 0.0
        work[WAY, i] = (1.0 - share) * outside * wall if wall > 0.0 else 1.0
        work[RAISED, i] = shift * (1.0 - work[WAY, i]) + work[WAY, i] * source_kg_per_s / packets
    prepare_modes(own, layers, hours[ACTIVITY, begin], over_gel[0], work, vectors)
    first_air = through_hours(layers, hours, begin, count, work, block)
    if not _stays(hours, begin, count, air, share, own[CURVE_DOWN] >= 0.0, rising, block):
        return False

    # Where the air stands at the end; the gel has what the books say.
    inflow = conductance[0] * SECONDS_PER_HOUR * (count * (air[ACTIVITY] + shift) - first_air)
    gained = inflow + source_kg_per_s * SECONDS_PER_HOUR * count
    at_end(layers, hours[ACTIVITY, stop - 1], over_gel[count - 1], work, vectors)
    for i in range(layers):
        gained += state[AIR_WATER_KG + i] - full_kg(own, hours[CONTENT, stop - 1], i) * work[END, i]
    if gained < -MOST_GIVEN * state[GEL_WATER_KG]:
        return False
    branch = moved_branch(own, branch, gained / own[GEL_KG])
    q = (state[GEL_WATER_KG] + gained) / own[GEL_KG]
    ln_h, _, _, _ = gel_terms(own, forms, knots, q, branch, True, hours[INVERSE_K, stop - 1], hours[LN_PSAT, stop - 1])
    truly = math.exp(min(ln_h, 0.0))

    unbalance = abs(x[last] - hours[ACTIVITY, begin] - (1.0 - share) * (over_gel_start - hours[ACTIVITY, begin]))
    unbalance += abs(truly - over_gel_start) + source_kg_per_s / packets
    by_warmth = abs(by_k + by_ln * LN_PSAT_PER_INVERSE_K)
    doubt = _doubt(own, hours, begin, stop, air, middle, by_warmth, unbalance, wall, work)
    if not max(abs(truly - over_gel_end), doubt) <= BLOCK_TOLERANCE:
        return False

    for i in range(layers):
        state[AIR_WATER_KG + i] = full_kg(own, hours[CONTENT, stop - 1], i) * work[END, i]
    state[GEL_WATER_KG] += gained
    state[BRANCH] = branch
    state[INFLOW_KG] += inflow
    state[PASSED_KG] += abs(inflow)
    return True


@compiled
def _starts_dry(
    own: FloatArray, state: FloatArray, hours: FloatArray, begin: int, air: FloatArray, work: FloatArray
) -> bool:
    """Write down how the stores of the air stand and what they take; say whether liquid water is out of question."""
    layers = int(own[LAYERS])
    for i in range(layers):
        work[X, i] = state[AIR_WATER_KG + i] / full_kg(own, hours[CONTENT, begin], i)
        work[CAPACITY, i] = full_kg(own, air[CONTENT], i)
        if work[X, i] > DAMP:
            return False
    return layers == 1 or air[DAMPEST] <= DAMP


@compiled
def _about(
    own: FloatArray, forms: FloatArray, knots: FloatArray, q: float, branch: float, inside: float, air: FloatArray
) -> tuple[float, float, float, float, bool]:
    """Give the RH over the gel, its terms at the block's mean temperature, and whether the gel takes up water."""
    base_k, base_ln = air[INVERSE_K], air[LN_PSAT]
    ln_h, by_k, by_ln, by_q = gel_terms(own, forms, knots, q, branch, True, base_k, base_ln)
    middle = math.exp(min(ln_h, 0.0))
    rising = inside >= middle
    if own[CURVE_DOWN] >= 0.0 and not rising:
        _, by_k, by_ln, by_q = gel_terms(own, forms, knots, q, branch, False, base_k, base_ln)
    return middle, by_k, by_ln, by_q, rising


@compiled
def _stays(
    hours: FloatArray,
    begin: int,
    count: int,
    air: FloatArray,
    share: float,
    looped: bool,
    rising: bool,
    block: FloatArray,
) -> bool:
    """Add what packets let through more when the gel is warm and the inside lags; say that no hour is damp or turns."""
    inside, over_gel, psat = block[AT_INSIDE], block[OVER_GEL], hours[PSAT, begin : begin + count]
    lag = 0.0
    for k in range(count):
        lag += (psat[k] / air[PSAT] - 1.0) * (over_gel[k] - inside[k])
    lag *= (1.0 - share) / count
    for k in range(count):
        inside[k] += lag
        if inside[k] > DAMP or (looped and (inside[k] >= over_gel[k]) != rising):
            return False
    return True


@compiled
def _doubt(
    own: FloatArray,
    hours: FloatArray,
    begin: int,
    stop: int,
    air: FloatArray,
    middle: float,
    by_warmth: float,
    unbalance: float,
    wall: float,
    work: FloatArray,
) -> float:
    """Estimate the error of a block, as a fraction of relative humidity, from what its one matrix cannot know."""
    last = int(own[LAYERS]) - 1
    x, conductance, capacity = work[X], work[CONDUCTANCE], work[CAPACITY]
    packets = conductance[last + 1]
    share, inner = wall / (wall + packets), conductance[last] / (conductance[last] + packets)
    driest, dampest, coldest, warmest = air[DRIEST], air[DAMPEST], air[COLDEST], air[WARMEST]
    # Conductances of the mean air, on flows out of balance.
    unbalance += (dampest - driest) * share + air[KICK] * x[last] * own[AIR_M3 + last] / capacity[last]
    if last > 0:
        before, steepest = hours[ACTIVITY, begin], 0.0
        for i in range(last):
            drop = (before - x[i]) * conductance[i]
            steepest = max(steepest, abs(drop - (x[i] - x[i + 1]) * conductance[i + 1]) / conductance[i + 1])
            before = x[i]
        unbalance += inner * (steepest + dampest - driest)
    doubt = 0.25 * (warmest / coldest - 1.0) * unbalance
    # Films that change otherwise than the air between them, and the gel's curve beyond its second order.
    apart = math.log(warmest / coldest) / -LN_PSAT_PER_INVERSE_K
    if share * apart > ALIKE_PER_K:
        cold, warm = begin, begin
        for k in range(begin + 1, stop):
            cold = k if hours[PSAT, k] < hours[PSAT, cold] else cold
            warm = k if hours[PSAT, k] > hours[PSAT, warm] else warm
        bias = abs(wall_kg_per_s(own, hours[:, warm]) / warmest - wall_kg_per_s(own, hours[:, cold]) / coldest)
        away = max(abs(dampest - middle), abs(driest - middle))
        doubt += share * (1.0 - share) * 0.5 * bias / (wall / air[PSAT] + LEAST_WALL_KG_PER_S) * away
    doubt += middle * (by_warmth * apart) ** 3
    return float(doubt * (1.0 + SHARE_WEIGHT * inner))
