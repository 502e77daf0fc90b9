r"""An adaptive stiff solver for the inside of one enclosure, hour by hour, from the equations alone.

Within an hour the room is constant. Layers are counted from outside, stores are the gaps between them and the inside.
With K the water of a store at 100 %RH and N its water, the store's relative humidity is :math:`u = \min(N/K, 1)`; what
is beyond K is liquid. With conductances :math:`g = G p_{sat}(T)` [kg/s], all at the hour's own temperature,

.. math::
    \dot N_j = g_j (u_{j-1} - u_j) - g_{j+1} (u_j - u_{j+1}), \qquad
    \dot N = g_n (u_{n-1} - u) + g_p (h - u) + s, \qquad
    m \dot q = g_p (u - h) .

The gel's relative humidity is :math:`h = \min(h(q, T, b), 1)` with q per unfaded gel, and
:math:`\ln h = (1 - w b) \ln h_{up} + w b \ln h_{down}` where the curve down lies below the curve up. The place b in the
loop is a play operator: :math:`\dot b = -\dot q / scan`, stopped at 0 and 1.

The right side has corners: a store that fills or dries, gel that turns at the end of its loop, the loop's own edges,
the joints of a table. Between two corners it is smooth; that stretch is a *regime*, and each step stays in one: where a
step would leave its regime, the corner is found by bisection, the step ends just behind it and the next one starts
anew. Steps are linearly implicit Euler steps, extrapolated (Deuflhard's scheme: E. Hairer and G. Wanner, "Solving
Ordinary Differential Equations II", section IV.9), which loses no water whatever the step.

The functions are plain Python on floats and small arrays; with ``SIMSTORE_COMPILE_SOLVER`` set, numba compiles them.
"""

from __future__ import annotations

import math
import os

import numpy as np
from years.enclosed import DUBININ_ASTAKHOV, HENRY, NO_GEL, TABLE, TOTH


def compiled(function):
    return function


if os.environ.get("SIMSTORE_COMPILE_SOLVER"):
    import numba

    compiled = numba.njit(cache=True)

COLUMNS = 8
"""Columns of the extrapolation table: its last is of that order."""
ROUND_OFF = 2e-12
"""Errors below this are the extrapolation's own round-off, and say nothing against a longer step."""
SHORTEST_S = 1e-9
CORNER_S = 1e-6
"""How far behind a corner a step may end. [s]"""
STILL_PER_S = 1e-16
"""Gel that changes no faster than this [kg/kg a second] does not turn."""
LEAST_Q = 1e-9
BAND = 1e-12
"""Saturation is passed upwards this much later than downwards, so that a state that creeps up to it crosses once."""
DAMP, TURNING, IN_LOOP, WEIGHT, PLACE = 0, 1, 2, 3, 4
"""Places in a regime: over full gel (1) or not; play at 0, between, at 1 (0, 1, 2); curve down below curve up; weight 0,
rising, 1; joint of the table up, and of the table down in the next place; then one flag for each store that holds
liquid."""
FIRST_STORE = 6


@compiled
def interval(q, table):
    """Number of the cubic that holds q."""
    at = 0
    while at < table.shape[1] - 2 and q >= table[0, at + 1]:
        at += 1
    return at


@compiled
def log_curve(form, c, table, at, q, temp_k, ln_psat):
    """Give ln h and d(ln h)/dq of one curve; smooth beyond saturation, where ln h is above 0."""
    q = max(q, LEAST_Q)
    if form == HENRY:
        return math.log(q / c[0]), 1.0 / q
    if form == DUBININ_ASTAKHOV:
        emptiness = math.log(c[0] / q)
        size = max(abs(emptiness), 1e-9)
        ln_h = -c[1] / temp_k * math.copysign(size ** (1.0 / c[2]), emptiness)
        return ln_h, c[1] / temp_k / c[2] * size ** (1.0 / c[2] - 1.0) / q
    if form == TOTH:
        share = min(q / c[2], 1.0 - 1e-12)
        rest = 1.0 - share ** c[3]
        return math.log(q) - c[0] - math.log(rest) / c[3] - c[1] / temp_k - ln_psat, 1.0 / (q * rest)
    s = q - table[0, at]
    h = table[1, at] + s * (table[2, at] + s * (table[3, at] + s * table[4, at]))
    slope = table[2, at] + s * (2.0 * table[3, at] + s * 3.0 * table[4, at])
    ratio = c[0] / temp_k
    h = max(h, 1e-30)
    return ratio * math.log(h), ratio * slope / h


@compiled
def over_gel(q, turn, regime, gel, hour):
    """Give h, dh/dq, ln h, and ln of the curve down less that of the curve up, within a regime.

    ``turn`` is b + q/scan, which is constant between the ends of the loop.
    """
    form_up, up, table_up, form_down, down, table_down, loop = gel
    temp_k, ln_psat = hour
    ln_h, slope = log_curve(form_up, up, table_up, regime[PLACE], q, temp_k, ln_psat)
    apart = -1.0
    if form_down != NO_GEL:
        ln_down, slope_down = log_curve(form_down, down, table_down, regime[PLACE + 1], q, temp_k, ln_psat)
        apart = ln_down - ln_h
        if regime[IN_LOOP] == 1:
            b, per_q = 0.0, 0.0
            if regime[TURNING] == 1:
                b, per_q = turn - q / loop[0], -1.0 / loop[0]
            elif regime[TURNING] == 2:
                b = 1.0
            weight, rising = 0.0, 0.0
            if regime[WEIGHT] == 2:
                weight = 1.0
            elif regime[WEIGHT] == 1:
                rising = 1.0 / (loop[2] - loop[1])
                weight = (q - loop[1]) * rising
            slope = slope + weight * b * (slope_down - slope) + (rising * b + weight * per_q) * apart
            ln_h = ln_h + weight * b * apart
    if regime[DAMP] == 1:
        return 1.0, 0.0, ln_h, apart
    h = math.exp(min(ln_h, 30.0))
    return h, h * slope, ln_h, apart


@compiled
def flows(y, turn, regime, stores, gel, hour, f):
    """Write the change a second of all stores (as shares of K) and of q into ``f``."""
    full, g, gel_kg, g_packet, outside, source = stores
    n = len(full)
    before = outside
    for j in range(n):
        u = 1.0 if regime[FIRST_STORE + j] == 1 else y[j]
        flow = g[j] * (before - u)
        f[j] = flow / full[j]
        if j > 0:
            f[j - 1] -= flow / full[j - 1]
        before = u
    f[n - 1] += source / full[n - 1]
    f[n] = 0.0
    if gel_kg > 0.0:
        h, _, _, _ = over_gel(y[n], turn, regime, gel, hour)
        flow = g_packet * (before - h)
        f[n - 1] -= flow / full[n - 1]
        f[n] = flow / gel_kg


@compiled
def slopes(y, turn, regime, stores, gel, hour, jacobian):
    """Write the derivatives of `flows` with respect to the state: those of row i after the column."""
    full, g, gel_kg, g_packet, _, _ = stores
    n = len(full)
    jacobian[:, :] = 0.0
    for j in range(n):
        if regime[FIRST_STORE + j] == 1:
            continue
        jacobian[j, j] -= g[j] / full[j]
        if j > 0:
            jacobian[j - 1, j] += g[j] / full[j - 1]
        if j < n - 1:
            jacobian[j, j] -= g[j + 1] / full[j]
            jacobian[j + 1, j] += g[j + 1] / full[j + 1]
        elif gel_kg > 0.0:
            jacobian[j, j] -= g_packet / full[j]
            jacobian[n, j] = g_packet / gel_kg
    if gel_kg > 0.0:
        _, slope, _, _ = over_gel(y[n], turn, regime, gel, hour)
        jacobian[n - 1, n] = g_packet * slope / full[n - 1]
        jacobian[n, n] = -g_packet * slope / gel_kg


@compiled
def find_regime(y, b, stores, gel, hour):
    """Say in which regime a state lies, and give b + q/scan."""
    full, _, gel_kg, g_packet, _, _ = stores
    form_up, _, table_up, form_down, _, table_down, loop = gel
    n = len(full)
    regime = np.zeros(FIRST_STORE + n, dtype=np.int64)
    for j in range(n):
        regime[FIRST_STORE + j] = 1 if y[j] > 1.0 + 0.5 * BAND else 0
    if gel_kg <= 0.0:
        return regime, 0.0
    q = y[n]
    turn = b + q / loop[0]
    if form_up == TABLE:
        regime[PLACE] = interval(q, table_up)
    if form_down == TABLE:
        regime[PLACE + 1] = interval(q, table_down)
    regime[TURNING] = 1
    regime[WEIGHT] = 0 if q <= loop[1] else (1 if q < loop[2] else 2)
    if form_down != NO_GEL:
        _, _, _, apart = over_gel(q, turn, regime, gel, hour)
        regime[IN_LOOP] = 1 if apart < 0.0 else 0
    h, _, ln_h, _ = over_gel(q, turn, regime, gel, hour)
    if ln_h > 0.5 * BAND:
        regime[DAMP] = 1
        h = 1.0
    rate = g_packet * (min(y[n - 1], 1.0) - h) / gel_kg
    if form_down == NO_GEL or (b <= 0.0 and rate >= -STILL_PER_S):
        regime[TURNING] = 0
    elif b >= 1.0 and rate <= STILL_PER_S:
        regime[TURNING] = 2
    return regime, turn


@compiled
def outside_of(y, turn, regime, stores, gel, hour):
    """Say by how much a state lies outside of a regime; 0 or less within it."""
    full, _, gel_kg, g_packet, _, _ = stores
    form_up, _, table_up, form_down, _, table_down, loop = gel
    n = len(full)
    most = -1.0
    for j in range(n):
        beyond = y[j] - 1.0
        most = max(most, -beyond if regime[FIRST_STORE + j] == 1 else beyond - BAND)
    if gel_kg <= 0.0:
        return most
    q = y[n]
    if form_up == TABLE:
        most = max(most, beyond_interval(q, regime[PLACE], table_up))
    h, _, ln_h, apart = over_gel(q, turn, regime, gel, hour)
    most = max(most, -ln_h if regime[DAMP] == 1 else ln_h - BAND)
    if form_down == NO_GEL:
        return most
    if form_down == TABLE:
        most = max(most, beyond_interval(q, regime[PLACE + 1], table_down))
    most = max(most, apart if regime[IN_LOOP] == 1 else -apart)
    if regime[WEIGHT] > 0:
        most = max(most, (loop[1] if regime[WEIGHT] == 1 else loop[2]) - q)
    if regime[WEIGHT] < 2:
        most = max(most, q - (loop[2] if regime[WEIGHT] == 1 else loop[1]))
    rate = g_packet * (min(y[n - 1], 1.0) - h) / gel_kg
    if regime[TURNING] == 0:
        most = max(most, -rate - STILL_PER_S)
    elif regime[TURNING] == 2:
        most = max(most, rate - STILL_PER_S)
    else:
        b = turn - q / loop[0]
        most = max(most, -b, b - 1.0)
    return most


@compiled
def beyond_interval(q, at, table):
    most = -1.0
    if at > 0:
        most = table[0, at] - q
    if at < table.shape[1] - 2:
        most = max(most, q - table[0, at + 1])
    return most


@compiled
def factorise(matrix):
    """Gauss without pivoting: the matrices here are 1 - h J, whose diagonal dominates once the columns are weighted."""
    n = len(matrix)
    for k in range(n):
        for i in range(k + 1, n):
            matrix[i, k] /= matrix[k, k]
            for j in range(k + 1, n):
                matrix[i, j] -= matrix[i, k] * matrix[k, j]


@compiled
def solve_factorised(matrix, right):
    n = len(matrix)
    for i in range(1, n):
        for k in range(i):
            right[i] -= matrix[i, k] * right[k]
    for i in range(n - 1, -1, -1):
        for k in range(i + 1, n):
            right[i] -= matrix[i, k] * right[k]
        right[i] /= matrix[i, i]


@compiled
def extrapolated(y, turn, regime, stores, gel, hour, length, table, change, jacobian, matrix):
    """Advance ``y`` by one step; the result is ``table[0]``. Gives its estimated error, the largest of all stores,
    as a share of the store where that holds more than it takes at 100 %RH.

    The last two places of the state are the integrals of the inside RH [s] and of the inflow from the room [kg].
    """
    _, g, _, _, outside, _ = stores
    n = len(g)
    size = n + 1
    slopes(y, turn, regime, stores, gel, hour, jacobian)
    wet_first, wet_last = regime[FIRST_STORE] == 1, regime[FIRST_STORE + n - 1] == 1
    error = 0.0
    for row in range(COLUMNS):
        parts = row + 1
        step = length / parts
        for i in range(size):
            for j in range(size):
                matrix[i, j] = (1.0 if i == j else 0.0) - step * jacobian[i, j]
        factorise(matrix)
        now = table[row]
        now[:] = y
        for _ in range(parts):
            flows(now, turn, regime, stores, gel, hour, change)
            for i in range(size):
                change[i] *= step
            solve_factorised(matrix, change)
            for i in range(size):
                now[i] += change[i]
            now[size] += step * (1.0 if wet_last else now[n - 1])
            now[size + 1] += step * g[0] * (outside - (1.0 if wet_first else now[0]))
        for here in range(row - 1, -1, -1):
            weight = (here + 1.0) / (parts - here - 1.0)
            error = 0.0
            for i in range(size + 2):
                more = (table[here + 1, i] - table[here, i]) * weight
                table[here, i] = table[here + 1, i] + more
                if i < size:
                    error = max(error, abs(more) / max(1.0, abs(table[here, i])))
    return error


@compiled
def solve_hour(y, b, stores, gel, hour, tolerance, first_s, length_s):
    """Advance over an hour of constant room air.

    Gives the state with its two integrals behind it, the place in the loop, and the step for the next hour [s].
    """
    loop = gel[6]
    n = len(stores[0])
    now = np.zeros(n + 3)
    now[: n + 1] = y
    table, change = np.empty((COLUMNS, n + 3)), np.empty(n + 1)
    jacobian, matrix = np.empty((n + 1, n + 1)), np.empty((n + 1, n + 1))
    done, step = 0.0, min(first_s, length_s)
    regime, turn = find_regime(now, b, stores, gel, hour)
    tries = 0
    while length_s - done > SHORTEST_S:
        tries += 1
        if tries > 200_000:
            msg = "the solver does not get on"
            raise RuntimeError(msg)
        step = min(step, length_s - done)
        error = extrapolated(now, turn, regime, stores, gel, hour, step, table, change, jacobian, matrix)
        if not error <= tolerance and step > SHORTEST_S:
            shrink = 0.1 if not error < 1e12 else 0.8 * (tolerance / error) ** (1.0 / COLUMNS)
            step = max(step * min(max(shrink, 0.05), 0.8), SHORTEST_S)
            continue
        took = step
        beyond = outside_of(table[0], turn, regime, stores, gel, hour)
        if beyond > 0.0:
            # The corner by false position, halved where that is slow; the step ends just behind it.
            low, high, within, halve = 0.0, step, outside_of(now, turn, regime, stores, gel, hour), False
            while high - low > CORNER_S:
                width = high - low
                share = within / (within - beyond) if within < 0.0 and not halve else 0.5
                middle = low + width * min(max(share, 0.01), 0.99)
                extrapolated(now, turn, regime, stores, gel, hour, middle, table, change, jacobian, matrix)
                found = outside_of(table[0], turn, regime, stores, gel, hour)
                if found > 0.0:
                    high, beyond = middle, found
                else:
                    low, within = middle, found
                halve = high - low > 0.5 * width
            took = high
            extrapolated(now, turn, regime, stores, gel, hour, took, table, change, jacobian, matrix)
        done += took
        now[:] = table[0]
        if regime[TURNING] == 1:
            b = min(max(turn - now[n] / loop[0], 0.0), 1.0)
        regime, turn = find_regime(now, b, stores, gel, hour)
        growth = 4.0 if error < ROUND_OFF else 0.8 * (tolerance / error) ** (1.0 / COLUMNS)
        step = step * min(max(growth, 0.3), 4.0)
    return now, b, step
