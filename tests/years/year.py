"""A year of one enclosure: the solver hour by hour, and what hands do to the enclosure between two hours."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from years import solver
from years.enclosed import NO_GEL, NO_POINTS, Curve, Enclosed, Gel, csat_kg_per_m3, psat_pa

TOLERANCE = 1e-9
HOUR_S = 3600.0


@dataclass(frozen=True)
class Open:
    """Somebody opens the enclosure: room air takes the place of the air inside and in the gaps."""


@dataclass(frozen=True)
class Exchange:
    """Somebody opens it and lays other gel into it, freshly dried: q [kg per kg of dry gel], capacity left [1]."""

    q: float
    left: float = 1.0


@dataclass(frozen=True)
class Torn:
    """The innermost wall lets more through from now on; the enclosure is not opened."""

    enclosed: Enclosed


Event = Open | Exchange | Torn


@dataclass
class State:
    """Water of the gaps and of the inside [kg], outermost first; of the gel [kg/kg, dry]; capacity left; loop."""

    water_kg: np.ndarray
    q: float = 0.0
    left: float = 1.0
    b: float = 0.0

    def copy(self) -> State:
        return replace(self, water_kg=self.water_kg.copy())


@dataclass(frozen=True)
class Solved:
    """What the solver says: RH inside as fractions, and water.

    ``mean`` and ``end``: of each hour. ``inflow_kg``: from the room through the wall, each hour.
    ``liquid_kg``: inside and in the gaps at the end of each hour. ``states``: at the starts of the hours asked for.
    """

    mean: np.ndarray
    end: np.ndarray
    inflow_kg: np.ndarray
    liquid_kg: np.ndarray
    last: State
    states: dict[int, State] = field(default_factory=dict)


def in_balance(enclosed: Enclosed, temp_c: float, rh_pct: float, q: float | None) -> State:
    """Start with the air in balance with the gel, or with the room where there is none, and steady flow in the gaps."""
    outside = rh_pct / 100.0
    inside = outside
    if enclosed.gel is not None:
        inside = min(math.exp(ln_h_up(enclosed.gel, q, temp_c)), 1.0)
    resistance = np.cumsum([1.0 / float(layer.conductance(temp_c)) for layer in enclosed.layers])
    shares = resistance / resistance[-1]
    water = (outside + (inside - outside) * shares) * capacities_kg(enclosed, temp_c)
    return State(water, 0.0 if q is None else q)


def ln_h_up(gel: Gel, q: float, temp_c: float) -> float:
    curve = gel.up
    table = NO_POINTS if curve.table is None else curve.table
    at = 0 if curve.table is None else solver.interval(q, table)
    temp_k, ln_psat = temp_c + 273.15, math.log(float(psat_pa(temp_c)))
    return solver.log_curve(curve.form, np.array(curve.constants), table, at, q, temp_k, ln_psat)[0]


def capacities_kg(enclosed: Enclosed, temp_c: float) -> np.ndarray:
    """Water of each gap and of the inside at 100 %RH."""
    full = np.array(enclosed.air_m3) * float(csat_kg_per_m3(temp_c))
    full[-1] += enclosed.packing_kg
    return full


def given_off_kg_per_s(water_kg: float, tau_days: float, hours: int) -> np.ndarray:
    """Water that objects give off in each hour, so that what they still hold falls exponentially."""
    held = water_kg * np.exp(-np.arange(hours + 1) / (24.0 * tau_days))
    return -np.diff(held) / HOUR_S


def solve(
    enclosed: Enclosed,
    temp_c: np.ndarray,
    rh_pct: np.ndarray,
    start: State,
    *,
    events: Mapping[int, Sequence[Event]] | None = None,
    source_kg_per_s: np.ndarray | None = None,
    first_hour: int = 0,
    keep_states: Sequence[int] = (),
    tolerance: float = TOLERANCE,
) -> Solved:
    """Live through the hours of a room, from ``first_hour`` of the events on.

    Parameters
    ----------
    temp_c, rh_pct : ndarray, shape (hours,)
        Room, constant within each hour.
    start : State
        Water at the start, in the capacities of the first hour.
    events : mapping of int to sequence of Event
        What is done at the start of an hour, before it is lived through.
    source_kg_per_s : ndarray, shape (hours,)
        Water that objects give off.
    keep_states : sequence of int
        Hours at whose start, before its events, the state is kept.
    """
    events, hours = events or {}, len(temp_c)
    source = np.zeros(hours) if source_kg_per_s is None else source_kg_per_s
    state, step = start.copy(), HOUR_S
    per_hour = rates(enclosed, temp_c)
    gel = packed(enclosed.gel)
    dry_kg = 0.0 if enclosed.gel is None else enclosed.gel.kg
    mean, end, inflow, liquid = (np.empty(hours) for _ in range(4))
    states = {}
    for k in range(hours):
        hour = first_hour + k
        outside = rh_pct[k] / 100.0
        if hour in keep_states:
            states[hour] = state.copy()
        handled_now = handled(enclosed, state, events.get(hour, ()), float(temp_c[k]), outside)
        if handled_now is not enclosed:
            enclosed, per_hour = handled_now, rates(handled_now, temp_c)
        full = capacities_kg(enclosed, float(temp_c[k]))
        psat, through, to_gel = per_hour
        stores = (full, through[:, k] * psat[k], dry_kg * state.left, to_gel[k] * psat[k], outside, source[k])
        air = (temp_c[k] + 273.15, math.log(psat[k]))
        y = np.append(state.water_kg / full, state.q / state.left)
        y, state.b, step = solver.solve_hour(y, state.b, stores, gel, air, tolerance, step, HOUR_S)
        n = len(full)
        state.water_kg, state.q = y[:n] * full, y[n] * state.left
        mean[k], end[k], inflow[k] = y[n + 1] / HOUR_S, min(y[n - 1], 1.0), y[n + 2]
        liquid[k] = (np.maximum(y[:n] - 1.0, 0.0) * full).sum()
    return Solved(mean, end, inflow, liquid, state, states)


def rates(enclosed: Enclosed, temp_c: np.ndarray):
    """Saturation pressure, conductances of the layers and of the packets, hour by hour."""
    layers = np.array([layer.conductance(temp_c) for layer in enclosed.layers])
    packets = np.zeros(len(temp_c)) if enclosed.packets is None else enclosed.packets.conductance(temp_c)
    return psat_pa(temp_c), layers, packets


def packed(gel: Gel | None):
    """Curves in the form that the solver takes."""
    up = Curve(NO_GEL) if gel is None else gel.up
    down = Curve(NO_GEL) if gel is None or gel.down is None else gel.down
    loop = (1.0, 1.0, 2.0) if gel is None else (gel.scan, gel.closed, gel.open)
    tables = [NO_POINTS if each.table is None else each.table for each in (up, down)]
    return (
        up.form, np.array(up.constants), tables[0],
        down.form, np.array(down.constants), tables[1], np.array(loop),
    )  # fmt: skip


def handled(enclosed: Enclosed, state: State, events: Sequence[Event], temp_c: float, outside: float) -> Enclosed:
    """Do what is done at the start of an hour, to the state; give the enclosure as it is from then on."""
    for event in events:
        if isinstance(event, Torn):
            enclosed = event.enclosed
            continue
        ventilate(state, enclosed, temp_c, outside)
        if isinstance(event, Exchange):
            state.q, state.left, state.b = event.q, event.left, 0.0
    return enclosed


def ventilate(state: State, enclosed: Enclosed, temp_c: float, outside: float) -> None:
    """Put room air in the place of the air inside and in every gap; packing, gel and liquid stay."""
    air_kg = np.array(enclosed.air_m3) * float(csat_kg_per_m3(temp_c))
    inside = np.minimum(state.water_kg / capacities_kg(enclosed, temp_c), 1.0)
    state.water_kg = state.water_kg + air_kg * (outside - inside)
