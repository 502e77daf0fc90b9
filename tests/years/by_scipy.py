"""The same equations once more, as they stand on the page and with SciPy's LSODA: what the own solver is checked by.

The place in the loop is a state of its own here, which stops at 0 and 1; SciPy's events find where it stops and where
the gel turns. All other corners are left to its control of the error.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator
from years import year
from years.enclosed import DUBININ_ASTAKHOV, HENRY, TABLE, TOTH, ZERO_C, Curve, psat_pa


def activity(curve: Curve):
    """Relative humidity over gel as a function of q and the temperature, 1 where there is more water."""
    first, second, third, fourth = curve.constants
    if curve.form == HENRY:
        return lambda q, temp_c: min(q / first, 1.0)
    if curve.form == DUBININ_ASTAKHOV:
        return lambda q, temp_c: math.exp(
            -second / (temp_c + ZERO_C) * max(math.log(first / max(q, 1e-9)), 0.0) ** (1.0 / third)
        )
    if curve.form == TOTH:

        def toth(q, temp_c):
            henry = math.exp(first + second / (temp_c + ZERO_C))
            if q >= third:
                return 1.0
            pressure = q / henry / (1.0 - (q / third) ** fourth) ** (1.0 / fourth)
            return min(pressure / float(psat_pa(temp_c)), 1.0)

        return toth
    assert curve.form == TABLE
    knots, h = curve.table[0], curve.table[1]
    # SciPy's own monotone cubic has the same slopes between the ends, where ours has the secants.
    slopes = PchipInterpolator(knots, h).derivative()(knots)
    slopes[0], slopes[-1] = (h[1] - h[0]) / (knots[1] - knots[0]), (h[-1] - h[-2]) / (knots[-1] - knots[-2])
    spline = CubicHermiteSpline(knots, h, slopes)
    return lambda q, temp_c: 1.0 if q >= knots[-1] else float(spline(q)) ** (first / (temp_c + ZERO_C))


def over_gel(gel):
    """Relative humidity over gel as a function of q per unfaded gel, the place in its loop and the temperature."""
    up = activity(gel.up)
    if gel.down is None:
        return lambda q, b, temp_c: up(q, temp_c)
    down = activity(gel.down)

    def between(q, b, temp_c):
        h, lower = up(q, temp_c), down(q, temp_c)
        weight = min(max((q - gel.closed) / (gel.open - gel.closed), 0.0), 1.0)
        return h if lower >= h else h ** (1.0 - weight * b) * lower ** (weight * b)

    return between


def an_hour(enclosed, h, left, temp_c, outside, source):
    """Give the change a second of RH in all stores, q, b, and the integrals of RH and inflow; and the event of a turn.

    ``held``: b is held at an end of the loop.
    """
    gel, full = enclosed.gel, year.capacities_kg(enclosed, temp_c)
    psat, n = float(psat_pa(temp_c)), len(full)
    through = [float(layer.conductance(temp_c)) * psat for layer in enclosed.layers]
    to_gel = 0.0 if gel is None else float(enclosed.packets.conductance(temp_c)) * psat

    def change(_, y, held):
        u = [outside, *(min(share, 1.0) for share in y[:n])]
        flow = [through[j] * (u[j] - u[j + 1]) for j in range(n)]
        out = np.zeros(n + 4)
        for j in range(n):
            out[j] = flow[j] - (flow[j + 1] if j < n - 1 else 0.0)
        out[n - 1] += source
        if gel is not None:
            into = to_gel * (u[n] - h(y[n] / left, y[n + 1], temp_c))
            out[n - 1] -= into
            out[n] = into / gel.kg
            out[n + 1] = 0.0 if held else -out[n] / left / gel.scan
        out[:n] /= full
        out[n + 2], out[n + 3] = u[n], flow[0]
        return out

    def turns(t, y, held):
        """Fall through 0 where gel that is held at an end of its loop turns, or free gel comes to an end."""
        b = y[n + 1]
        return change(t, y, held)[n] * (1.0 if b == 0.0 else -1.0) if held else min(b, 1.0 - b)

    turns.terminal, turns.direction = True, -1.0
    return change, turns


def solve(
    enclosed, temp_c, rh_pct, start, *, events=None, source_kg_per_s=None, first_hour=0, tolerance=1e-10
) -> year.Solved:
    """Live through the hours; see `years.year.solve`."""
    hours = len(temp_c)
    state, loops = start.copy(), enclosed.gel is not None and enclosed.gel.down is not None
    h = None if enclosed.gel is None else over_gel(enclosed.gel)
    mean, end, inflow, liquid = (np.empty(hours) for _ in range(4))
    for k in range(hours):
        temp, outside = float(temp_c[k]), float(rh_pct[k]) / 100.0
        enclosed = year.handled(enclosed, state, (events or {}).get(first_hour + k, ()), temp, outside)
        full = year.capacities_kg(enclosed, temp)
        source = 0.0 if source_kg_per_s is None else source_kg_per_s[k]
        change, turns = an_hour(enclosed, h, state.left, temp, outside, source)
        n, done = len(full), 0.0
        y = np.concatenate((state.water_kg / full, [state.q, state.b, 0.0, 0.0]))
        held = not loops or state.b == (0.0 if change(0.0, y, True)[n] > 0.0 else 1.0)
        while done < year.HOUR_S:
            found = solve_ivp(
                change, (done, year.HOUR_S), y, method="LSODA", rtol=tolerance, atol=tolerance, args=(held,),
                events=turns if loops else None,
            )  # fmt: skip
            assert found.success, found.message
            y, done = found.y[:, -1], float(found.t[-1])
            if not held:
                y[n + 1] = min(max(round(y[n + 1], 12), 0.0), 1.0)
            held = not held
        state.water_kg, state.q, state.b = y[:n] * full, float(y[n]), float(y[n + 1])
        mean[k], end[k], inflow[k] = y[n + 2] / year.HOUR_S, min(y[n - 1], 1.0), y[n + 3]
        liquid[k] = (np.maximum(y[:n] - 1.0, 0.0) * full).sum()
    return year.Solved(mean, end, inflow, liquid, state)
