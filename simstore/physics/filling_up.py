r"""How gel fills up, as a planner works it out beforehand: a day at a time, the air in between at rest.

On each day the water that passes wall and packets, one behind the other, is

.. math:: m \dot q = g \, (\bar a - h(q, T)), \qquad \frac1g = \frac1{g_{wall}} + \frac1{g_{packets}},

with conductances times saturation pressure, the mean vapour pressure of the room over the mean saturation pressure, and
the gel's curve. It is taken in one implicit step a day, as the mean of the warmer and the colder half of its hours, so
that a film that lets through more at noon is not judged by the mean temperature. The air inside rests between gel and
room: :math:`u = h + (\bar a - h) \, g_{wall} / (g_{wall} + g_{packets})`.
"""

from __future__ import annotations

import math

import numpy as np

from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.enclosure_rows import GEL_KG
from simstore.physics.gap_chain import packets_kg_per_s, wall_kg_per_s
from simstore.physics.gel_terms import gel_terms
from simstore.physics.room_hours import INVERSE_K, LN_PSAT, PRESSURE, PSAT
from simstore.units import HOURS_PER_DAY, SECONDS_PER_DAY

NEVER = math.inf
NEAR = 2.0
"""So many times as steep as it is at the start of a day the curve is at most at its end."""


@compiled
def water_after(
    own: FloatArray, forms: FloatArray, knots: FloatArray, days: FloatArray, first: int, last: int, q: float
) -> float:
    """Water per gel [kg/kg] at the midnight of the day ``last``, after it was ``q`` at that of the day ``first``.

    Parameters
    ----------
    own : ndarray
        Row of the enclosure; see `enclosure_rows`.
    forms, knots : ndarray
        From `curve_table`.
    days : ndarray, shape (days, 2, rows)
        The room by days, from `by_halves`; it repeats itself.
    first, last : int
        Days, counted from the first row.
    q : float
        Water at the start. [kg/kg]
    """
    for day in range(first, last):
        gained, _, _ = _a_day(own, forms, knots, days[day % len(days)], q, 1.0)
        q += gained
    return q


@compiled
def air_on(own: FloatArray, forms: FloatArray, knots: FloatArray, days: FloatArray, day: int, q: float) -> float:
    """Mean RH inside on a day, as a fraction, over gel that holds ``q`` [kg/kg]; arguments as in `water_after`."""
    _, inside, _ = _a_day(own, forms, knots, days[day % len(days)], q, 1.0)
    return inside


@compiled
def day_of(
    own: FloatArray, forms: FloatArray, knots: FloatArray, days: FloatArray, begin: float, end: int, q: float, rh: float
) -> float:
    """Day on which the RH inside comes to ``rh``, a fraction, from water ``q`` [kg/kg] on the day ``begin``; or never.

    Parameters
    ----------
    own, forms, knots, days
        As in `water_after`.
    begin : float
        Day from which to count, with its part.
    end : int
        Day with which the search ends.
    q : float
        Water at the start. [kg/kg]
    rh : float
        Relative humidity looked for, as a fraction.
    """
    day, share = int(begin), 1.0 - (begin - int(begin))
    while day < end:
        halves = days[day % len(days)]
        gained, at_start, slope = _a_day(own, forms, knots, halves, q, share)
        if at_start >= rh:
            return day + 1.0 - share
        q += gained
        if at_start + NEAR * gained * slope >= rh:
            _, at_end, _ = _a_day(own, forms, knots, halves, q, share)
            if at_end >= rh:
                return day + 1.0 - share + share * (rh - at_start) / (at_end - at_start)
        day, share = day + 1, 1.0
    return NEVER


@compiled
def _a_day(
    own: FloatArray, forms: FloatArray, knots: FloatArray, halves: FloatArray, q: float, share: float
) -> tuple[float, float, float]:
    """Give the water that comes to the gel in a share of a day [kg/kg], the mean RH inside, and its slope with q."""
    came, held, inside, slope = 0.0, 1.0, 0.0, 0.0
    for half in range(2):
        air = halves[half]
        wall, packets = wall_kg_per_s(own, air), packets_kg_per_s(own, air)
        ln_h, _, _, by_q = gel_terms(own, forms, knots, q, 0.0, True, air[INVERSE_K], air[LN_PSAT])
        over_gel = math.exp(min(ln_h, 0.0))
        rise = 0.0 if ln_h >= 0.0 else over_gel * by_q
        part = wall / (wall + packets)
        away = air[PRESSURE] / air[PSAT] - over_gel
        step = 0.5 * share * SECONDS_PER_DAY * packets * part / own[GEL_KG]
        came += step * away
        held += step * rise
        inside += 0.5 * (over_gel + away * part)
        slope += 0.5 * rise * (1.0 - part)
    return came / held, inside, slope


def by_halves(hours: FloatArray) -> FloatArray:
    """Means over the colder and the warmer half of the hours of each day.

    Parameters
    ----------
    hours : ndarray, shape (rows, hours)
        As in `RoomHours`.

    Returns
    -------
    ndarray, shape (days, 2, rows)
        The colder half first.
    """
    by_day = hours.reshape(len(hours), -1, HOURS_PER_DAY)
    order = np.argsort(by_day[LN_PSAT], axis=1, kind="stable")
    ranked = np.take_along_axis(by_day, order[None], axis=2)
    halves = ranked.reshape(len(hours), -1, 2, HOURS_PER_DAY // 2).mean(axis=3)
    return np.ascontiguousarray(np.moveaxis(halves, 0, 2))
