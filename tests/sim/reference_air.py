"""The inside of enclosures by an adaptive stiff solver, from the documented equations and the scenario's values.

Nothing here comes from ``simstore.physics`` or ``simstore.sim``: walls, packets, isotherm and saturation pressure are
written down again, and SciPy's LSODA with tight tolerances integrates each hour for itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.settings import Settings

GAS = 8.314462618
VAPOUR = 461.52


def psat_pa(temp_c):
    """Wagner and Pruss 2002, equation 2.5a."""
    t = np.asarray(temp_c, dtype=float) + 273.15
    v = 1.0 - t / 647.096
    terms = (
        -7.85951783 * v + 1.84408259 * v**1.5 - 11.7866497 * v**3
        + 22.6807411 * v**3.5 - 15.9618719 * v**4 + 1.80122502 * v**7.5
    )  # fmt: skip
    return 22.064e6 * np.exp(647.096 / t * terms)


@dataclass(frozen=True)
class DubininAstakhov:
    """ln h = -(E/RT) ln(qm/q)^(1/n)."""

    capacity: float
    energy: float
    exponent: float

    def activity(self, q, temp_c):
        emptiness = np.log(self.capacity / np.clip(q, 1e-9, self.capacity))
        return np.exp(-self.energy / (GAS * (temp_c + 273.15)) * emptiness ** (1.0 / self.exponent))


@dataclass(frozen=True)
class Henry:
    """h = q / slope, whatever the temperature; what a closed form can be had for."""

    slope: float

    def activity(self, q, temp_c):
        return q / self.slope


@dataclass(frozen=True)
class Wall:
    """One enclosure: resistances in series, lumped air, packing and packet."""

    layers: tuple[tuple[float, float, float, float], ...]
    """For each layer, outermost first: leak [m3/s], film area over thickness times permeability, its 1/T0 and E/R."""
    air_m3: float
    packing_kg: float
    packet_kg_per_s_pa: float
    gel_kg: float

    def conductance(self, temp_c: float) -> float:
        return 1.0 / sum(1.0 / each for each in conductances(self.layers, temp_c))


def conductances(layers, temp_c):
    t = temp_c + 273.15
    return [leak / (VAPOUR * t) + film * math.exp(-energy * (1.0 / t - cold)) for leak, film, cold, energy in layers]


def wall_of(settings: Settings, row: Enclosure, reference_c: float) -> Wall:
    """Work out an enclosure from the scenario's values; leaks must be plain numbers."""
    kind = settings.kinds[row.kind]
    volume = row.volume_m3 or kind.volume_m3
    scale = volume / kind.volume_m3
    empty = row.empty_m3 or volume * kind.empty_pct / 100
    spaces = [layer.gap_m3 * scale for layer in kind.layers[:-1]] + [empty]
    layers = []
    for n, (layer, space) in enumerate(zip(kind.layers, spaces, strict=True)):
        film = settings.films[layer.film]
        leak = layer.leak_per_day
        if n == len(spaces) - 1 and row.leak_per_day is not None:
            leak = row.leak_per_day
        through = film.permeability_kg_per_m_s_pa * layer.area_m2 * scale ** (2 / 3) / (layer.thickness_um * 1e-6)
        layers.append(
            (leak * space / 86400, through, 1 / (film.measured_at_c + 273.15), film.activation_kj_per_mol * 1e3 / GAS)
        )
    each = conductances(layers, reference_c)
    resistance = np.cumsum([1 / g for g in each])
    # Elmore 1948: a gap counts by the share of the resistance that lies outside of it.
    air = spaces[-1] + sum(
        space * outer / resistance[-1] for space, outer in zip(spaces[:-1], resistance[:-1], strict=True)
    )
    name = row.packet or kind.packet
    count = kind.packets if row.packets is None else row.packets
    packet = settings.packets[name] if name and count else None
    return Wall(
        tuple(layers),
        float(air),
        kind.packing_g_per_pct * 0.1 * scale,
        count * packet_conductance(settings, name, reference_c) if packet else 0.0,
        count * packet.gel_kg if packet else 0.0,
    )


def packet_conductance(settings: Settings, name: str, temp_c: float) -> float:
    """Holes beside film, then the bed; see the top of simstore/physics/packet.py for the sources."""
    packet = settings.packets[name]
    if packet.conductance_kg_per_s_pa is not None:
        return packet.conductance_kg_per_s_pa
    t = temp_c + 273.15
    still_air = 2.471e-5 * (t / 298.15) ** 1.75 / (VAPOUR * t)
    film = settings.films["ldpe"]
    permeability = film.permeability_kg_per_m_s_pa * math.exp(
        -film.activation_kj_per_mol * 1e3 / GAS * (1 / t - 1 / (film.measured_at_c + 273.15))
    )
    share, film_m, hole_m = packet.perforation_pct / 100, packet.film_um * 1e-6, packet.hole_mm * 1e-3
    heap = 2.0 if packet.laid == "heaped" else 1.0
    depth = packet.gel_kg / settings.sorbents[packet.sorbent].bulk_kg_per_m3 / packet.area_m2 * heap
    area = packet.area_m2 * packet.faces / heap
    wrap = still_air * share / (film_m + math.pi / 4 * hole_m) + permeability * (1 - share) / film_m
    bed = 0.4**1.5 * still_air / (depth / (2 * packet.faces))
    return area / (1 / wrap + 1 / bed)


@dataclass
class Inside:
    """What the solver says of the RH inside, as fractions; arrays of shape (hours, enclosures)."""

    mean: np.ndarray
    end: np.ndarray
    q: np.ndarray


def solve(
    walls: list[Wall], isotherm, temp_c, rh_pct, *, activity, q, fresh_at=(), fresh_q=0.02, tolerance: float = 1e-10
) -> Inside:
    r"""Integrate K du/dt = gw (uo - u) + gp (h - u), m dq/dt = gp (u - h), hour by hour.

    Water in the air is kept across the step of the room's temperature between two hours: K u goes on, K changes. At
    the start of the hours ``fresh_at`` all are opened, which changes their air but not their packing, and get fresh gel.
    """
    air, packing, gp, gel = (
        np.array([getattr(w, name) for w in walls]) for name in ("air_m3", "packing_kg", "packet_kg_per_s_pa", "gel_kg")
    )
    per_gel = np.divide(gp, gel, out=np.zeros_like(gp), where=gel > 0)
    u, q = np.array(activity, dtype=float), np.array(q, dtype=float)
    means, ends, waters = [], [], []
    capacity = None
    for hour, (temp, outside) in enumerate(zip(temp_c.tolist(), (rh_pct / 100).tolist(), strict=True)):
        psat = float(psat_pa(temp))
        before, capacity = capacity, packing + air * psat / (VAPOUR * (temp + 273.15))
        if before is not None:
            u = u * before / capacity
        if hour in fresh_at:
            u = (packing * u + (capacity - packing) * outside) / capacity
            q = np.full_like(q, fresh_q)
        into = np.array([w.conductance(temp) for w in walls]) * psat * 3600 / capacity
        to_gel = gp * psat * 3600 / capacity
        from_air = per_gel * psat * 3600

        def change(_, y, temp=temp, outside=outside, into=into, to_gel=to_gel, from_air=from_air):
            now, water = y[0::3], y[1::3]
            off = now - isotherm.activity(water, temp)
            out = np.empty_like(y)
            out[0::3] = into * (outside - now) - to_gel * off
            out[1::3] = from_air * off
            out[2::3] = now
            return out

        start = np.stack((u, q, np.zeros_like(u)), axis=1).ravel()
        found = solve_ivp(change, (0.0, 1.0), start, method="LSODA", rtol=tolerance, atol=tolerance, lband=2, uband=2)
        assert found.success, found.message
        u, q, mean = (found.y[n::3, -1] for n in range(3))
        means.append(mean)
        ends.append(u)
        waters.append(q)
    return Inside(np.array(means), np.array(ends), np.array(waters))
