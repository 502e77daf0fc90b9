"""One enclosure as numbers, from the scenario's values: its layers, gaps, packing, packets and curves.

Everything is written down again from the published equations. Nothing comes from the program but the scenario's own
values, which are read by attribute.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

GAS = 8.314462618  # J/(mol K), CODATA 2018
VAPOUR = 461.52  # J/(kg K)
ZERO_C = 273.15


def psat_pa(temp_c):
    """Saturation over liquid water: Wagner and Pruss 2002, equation 2.5a, carried on below 0 degC."""
    t = np.asarray(temp_c, dtype=float) + ZERO_C
    v = 1.0 - t / 647.096
    terms = (
        -7.85951783 * v + 1.84408259 * v**1.5 - 11.7866497 * v**3
        + 22.6807411 * v**3.5 - 15.9618719 * v**4 + 1.80122502 * v**7.5
    )  # fmt: skip
    return 22.064e6 * np.exp(647.096 / t * terms)


def csat_kg_per_m3(temp_c):
    """Saturated vapour content, ideal gas."""
    return psat_pa(temp_c) / (VAPOUR * (np.asarray(temp_c, dtype=float) + ZERO_C))


NO_GEL, DUBININ_ASTAKHOV, TOTH, TABLE, HENRY = range(5)
NO_POINTS = np.zeros((5, 1))


@dataclass(frozen=True)
class Curve:
    """An isotherm: its form, up to four constants, and for a table its knots and cubics, shape (5, knots)."""

    form: int
    constants: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    table: np.ndarray | None = None


@dataclass(frozen=True)
class Gel:
    """What lies in an enclosure: dry mass [kg], and its curves; ``down`` is None for gel without a loop.

    ``scan``, ``closed``, ``open`` [kg/kg]: the water that leads from one branch to the other, and where the loop opens.
    """

    kg: float
    up: Curve
    down: Curve | None = None
    scan: float = 0.05
    closed: float = 0.05
    open: float = 0.12


@dataclass(frozen=True)
class Layer:
    """Leak [m3/s] of the air inside it; film as area over thickness times permeability at T0; 1/T0; E/R."""

    leak_m3_per_s: float
    film_kg_per_s_pa: float
    inverse_t0: float
    energy_k: float

    def conductance(self, temp_c):
        t = np.asarray(temp_c, dtype=float) + ZERO_C
        return self.leak_m3_per_s / (VAPOUR * t) + self.film_kg_per_s_pa * np.exp(
            -self.energy_k * (1.0 / t - self.inverse_t0)
        )


@dataclass(frozen=True)
class Packets:
    """All packets: holes beside film, then the bed; or a measured figure."""

    count: int
    measured_kg_per_s_pa: float | None = None
    face_m2: float = 0.0
    open_share: float = 0.0
    hole_way_m: float = 0.0
    film_m: float = 0.0
    film: Layer | None = None
    bed_way_m: float = 0.0

    def conductance(self, temp_c):
        temp_c = np.asarray(temp_c, dtype=float)
        if self.measured_kg_per_s_pa is not None:
            return np.full(temp_c.shape, self.count * self.measured_kg_per_s_pa)
        t = temp_c + ZERO_C
        still_air = 2.471e-5 * (t / 298.15) ** 1.75 / (VAPOUR * t)
        bed = self.bed_way_m / (0.4**1.5 * still_air)
        wrap = 0.0
        if self.film_m > 0:
            holes = still_air * self.open_share / self.hole_way_m
            wrap = 1.0 / (holes + self.film.conductance(temp_c) * (1.0 - self.open_share) / self.film_m)
        return self.count * self.face_m2 / (wrap + bed)


@dataclass(frozen=True)
class Enclosed:
    """One enclosure: layers from outside, the air inside each [m3], packing [kg, 0 to 100 %RH], packets and gel."""

    layers: tuple[Layer, ...]
    air_m3: tuple[float, ...]
    packing_kg: float
    packets: Packets | None
    gel: Gel | None


def curve_of(value) -> Curve:
    """Read one of the scenario's three forms."""
    if value.form == "dubinin_astakhov":
        return Curve(DUBININ_ASTAKHOV, (value.capacity_kg_per_kg, value.energy_j_per_mol / GAS, value.exponent, 0.0))
    if value.form == "toth":
        return Curve(
            TOTH,
            (math.log(value.k0_kg_per_kg_pa), value.heat_j_per_kg / VAPOUR, value.capacity_kg_per_kg, value.exponent),
        )
    rh_pct, q = np.array(value.points, dtype=float).T
    return Curve(TABLE, (value.measured_at_c + ZERO_C, 0.0, 0.0, 0.0), monotone_cubic(q, rh_pct / 100.0))


def monotone_cubic(q, h):
    """Cubics through a data sheet's points by Fritsch and Butland 1984, shape (5, knots).

    The rows are the knots q, h there, and the three coefficients. The curve begins at the
    origin, goes on to saturation with the slope of the last two points, and has the secants as slopes at its ends.
    """
    if q[0] > 0:
        q, h = np.insert(q, 0, 0.0), np.insert(h, 0, 0.0)
    if h[-1] < 1.0:
        q, h = np.append(q, q[-1] + (1.0 - h[-1]) * (q[-1] - q[-2]) / (h[-1] - h[-2])), np.append(h, 1.0)
    step, secant = np.diff(q), np.diff(h) / np.diff(q)
    slope = np.empty(len(q))
    slope[0], slope[-1] = secant[0], secant[-1]
    for i in range(1, len(q) - 1):
        alpha = (step[i - 1] + 2.0 * step[i]) / (3.0 * (step[i - 1] + step[i]))
        slope[i] = secant[i - 1] * secant[i] / (alpha * secant[i] + (1.0 - alpha) * secant[i - 1])
    table = np.zeros((5, len(q)))
    table[0], table[1] = q, h
    table[2, :-1] = slope[:-1]
    table[3, :-1] = (3.0 * secant - 2.0 * slope[:-1] - slope[1:]) / step
    table[4, :-1] = (slope[:-1] + slope[1:] - 2.0 * secant) / step**2
    return table


def layers_and_air(settings, row, *, torn: bool = False):
    """Layers of an enclosure and the air inside each; leaks must be plain numbers. ``torn``: its seal has failed."""
    kind = settings.kinds[row.kind]
    volume = row.volume_m3 or kind.volume_m3
    scale = volume / kind.volume_m3
    empty = row.empty_m3 or volume * kind.empty_pct / 100.0
    air = (*(layer.gap_m3 * scale for layer in kind.layers[:-1]), empty)
    layers = []
    for n, (layer, inside_m3) in enumerate(zip(kind.layers, air, strict=True)):
        leak = layer.leak_per_day
        if n == len(air) - 1:
            leak = row.leak_per_day or leak
            leak = max(leak, kind.failure_leak_per_day) if torn else leak
        film = film_layer(settings.films[layer.film])
        through = film.film_kg_per_s_pa * layer.area_m2 * scale ** (2.0 / 3.0) / (layer.thickness_um * 1e-6)
        layers.append(Layer(leak / 86400.0 * inside_m3, through, film.inverse_t0, film.energy_k))
    return tuple(layers), air


def film_layer(film) -> Layer:
    return Layer(
        0.0,
        film.permeability_kg_per_m_s_pa,
        1.0 / (film.measured_at_c + ZERO_C),
        film.activation_kj_per_mol * 1e3 / GAS,
    )


def packets_of(settings, name, count) -> tuple[Packets, Gel]:
    """Packets of one sort and the gel in them."""
    packet = settings.packets[name]
    sorbent = settings.sorbents[packet.sorbent]
    gel = Gel(
        count * packet.gel_kg,
        curve_of(sorbent.isotherm),
        None if sorbent.desorption is None else curve_of(sorbent.desorption),
    )
    if packet.conductance_kg_per_s_pa is not None:
        return Packets(count, packet.conductance_kg_per_s_pa), gel
    heap = 2.0 if packet.laid == "heaped" else 1.0  # twice as deep on half of the area
    depth = packet.gel_kg / sorbent.bulk_kg_per_m3 / packet.area_m2 * heap
    return Packets(
        count,
        face_m2=packet.area_m2 * packet.faces / heap,
        open_share=packet.perforation_pct / 100.0,
        hole_way_m=packet.film_um * 1e-6 + math.pi / 4.0 * packet.hole_mm * 1e-3,
        film_m=packet.film_um * 1e-6,
        film=film_layer(settings.films["ldpe"]),
        bed_way_m=depth / (2.0 * packet.faces),
    ), gel


def enclosed(settings, row, *, torn: bool = False) -> Enclosed:
    """Read one row of the register as numbers."""
    kind = settings.kinds[row.kind]
    layers, air = layers_and_air(settings, row, torn=torn)
    volume = row.volume_m3 or kind.volume_m3
    packing = kind.packing_g_per_pct * 0.1 * volume / kind.volume_m3  # g per %RH over 100 %RH, in kg
    name = row.packet or kind.packet
    count = kind.packets if row.packets is None else row.packets
    packets, gel = packets_of(settings, name, count) if name and count else (None, None)
    return Enclosed(layers, air, packing, packets, gel)
