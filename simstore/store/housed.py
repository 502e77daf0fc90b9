"""How each enclosure is housed under a plan, and the conductances that follow from it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from simstore.physics.packet import bed_depth_m, packet_conductance_kg_per_s_pa
from simstore.physics.wall import (
    air_exchange_conductance_kg_per_s_pa,
    effective_air_m3,
    film_conductance_kg_per_s_pa,
    film_permeability,
    layer_conductance_kg_per_s_pa,
    series_conductance,
)
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.fields import Lognormal, Spread
from simstore.scenario.values.housing import Enclosure, Film, Kind
from simstore.scenario.values.plan import Plan
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet
from simstore.store.luck import stream

FloatArray = NDArray[np.float64]
MOST_LAYERS = 6
ROUNDING = 1e-9
GRAMS_PER_PCT_TO_KG = 0.1
"""1 g per %RH is 0.1 kg from 0 to 100 %RH."""


@dataclass(frozen=True, slots=True)
class Housed:
    """One enclosure as the plan's programme houses it."""

    enclosure: Enclosure
    kind_name: str
    kind: Kind
    packet_name: str | None
    packet: Packet | None
    packets: int
    volume_m3: float
    empty_m3: float


@dataclass(frozen=True, slots=True)
class Walls:
    """Conductances of all enclosures; see `simstore.physics.uptake.Pairs` for the shapes.

    Attributes
    ----------
    leak_per_day : ndarray, shape (enclosures,)
        Air changes of the innermost layer, as drawn.
    believed_kg_per_s_pa : ndarray, shape (enclosures,)
        What the planner believes of the wall, at the reference temperature.
    failed_kg_per_s_pa : ndarray, shape (temperatures, enclosures)
        The wall when its innermost layer has failed.
    """

    temps_c: FloatArray
    wall_kg_per_s_pa: FloatArray
    air_m3: FloatArray
    leak_per_day: FloatArray
    reference_kg_per_s_pa: FloatArray
    believed_kg_per_s_pa: FloatArray
    failed_kg_per_s_pa: FloatArray


def housed(settings: Settings, plan: Plan, enclosures: tuple[Enclosure, ...]) -> list[Housed]:
    """House every enclosure under ``plan``, in the register's order."""
    programme = settings.programmes.get(plan.programme)
    replace = {} if programme is None else programme.replace
    return [house(settings, each, replace.get(each.kind, each.kind)) for each in enclosures]


def house(settings: Settings, enclosure: Enclosure, kind_name: str) -> Housed:
    """House one enclosure's objects in a kind; the register's figures of an old one of another kind no longer count."""
    kind = settings.kinds[kind_name]
    moved = kind_name != enclosure.kind
    volume = kind.volume_m3 if enclosure.volume_m3 is None else enclosure.volume_m3
    empty = volume * kind.empty_pct / 100.0 if enclosure.empty_m3 is None or moved else enclosure.empty_m3
    name = kind.packet if enclosure.packet is None or moved else enclosure.packet
    if name is None:
        count = 0
    elif enclosure.packets is None or moved:
        count = filled_packets(settings, kind, settings.packets[name], empty)
    else:
        count = enclosure.packets
    packet = settings.packets[name] if name is not None and count > 0 else None
    return Housed(enclosure, kind_name, kind, name if packet else None, packet, count, volume, empty)


def packets_in(rows: Iterable[Housed]) -> Counter[str]:
    """Packets in all these enclosures, by sort."""
    counts: Counter[str] = Counter()
    for row in rows:
        if row.packet_name is not None:
            counts[row.packet_name] += row.packets
    return counts


def filled_packets(settings: Settings, kind: Kind, packet: Packet, empty_m3: float) -> int:
    """Packets that the kind's fill asks for: a number, gel per empty volume, or a share of the empty volume."""
    if kind.gel_kg_per_m3 is not None:
        return math.ceil(kind.gel_kg_per_m3 * empty_m3 / packet.gel_kg - ROUNDING)
    if kind.gel_pct_of_empty is not None:
        bulk = settings.sorbents[packet.sorbent].bulk_kg_per_m3
        return math.ceil(kind.gel_pct_of_empty / 100.0 * empty_m3 * bulk / packet.gel_kg - ROUNDING)
    return kind.packets


def walls(
    scenario: Scenario, plan: Plan, rows: list[Housed], *, replication: int, temps_c: FloatArray, reference_c: float
) -> Walls:
    """Draw every leak and compute the walls at ``temps_c`` and at ``reference_c``."""
    settings = scenario.settings
    luck = np.array(
        [stream(settings.seed, replication, "leak", row.enclosure.id).standard_normal(MOST_LAYERS + 1) for row in rows]
    )
    count = len(rows)
    table = np.empty((len(temps_c), count))
    air = np.empty(count)
    leak = np.empty(count)
    reference = np.empty(count)
    believed = np.empty(count)
    failed = np.empty_like(table)
    for name in dict.fromkeys(row.kind_name for row in rows):
        members = np.array([i for i, row in enumerate(rows) if row.kind_name == name])
        kind = settings.kinds[name]
        own = [rows[i] for i in members]
        leaks = _drawn(kind, own, luck[members])
        shape = _Shape.of(settings, kind, own)
        table[:, members] = [shape.wall(leaks, float(t)) for t in temps_c]
        reference[members] = shape.wall(leaks, reference_c)
        failed[:, members] = table[:, members]
        if kind.failures_per_year > 0:
            worse = leaks.copy()
            worse[-1] = np.maximum(worse[-1], kind.failure_leak_per_day)
            failed[:, members] = [shape.wall(worse, float(t)) for t in temps_c]
        believed[members] = shape.wall(_believed(plan, kind, leaks, luck[members]), reference_c)
        air[members] = shape.effective_air(leaks, reference_c)
        leak[members] = leaks[-1]
    return Walls(temps_c, table, air, leak, reference, believed, failed)


def packet_conductances(settings: Settings, rows: list[Housed], temp_c: float) -> FloatArray:
    """Conductance between the inside air and all packets of each enclosure [kg/(s Pa)], shape (enclosures,)."""
    known: dict[str, float] = {}
    values = np.zeros(len(rows))
    for i, row in enumerate(rows):
        if row.packet is None or row.packet_name is None:
            continue
        if row.packet_name not in known:
            known[row.packet_name] = one_packet(settings, row.packet, temp_c)
        values[i] = known[row.packet_name] * row.packets
    return values


def one_packet(settings: Settings, packet: Packet, temp_c: float) -> float:
    """Conductance of one packet [kg/(s Pa)]: measured if given, else from its holes, film and bed."""
    if packet.conductance_kg_per_s_pa is not None:
        return packet.conductance_kg_per_s_pa
    film = settings.films["ldpe"]
    permeability = film_permeability_at(film, temp_c)
    bulk = settings.sorbents[packet.sorbent].bulk_kg_per_m3
    return float(
        packet_conductance_kg_per_s_pa(
            area_m2=packet.area_m2,
            faces=packet.faces,
            perforation_pct=packet.perforation_pct,
            hole_mm=packet.hole_mm,
            film_um=packet.film_um,
            film_permeability_kg_per_m_s_pa=permeability,
            bed_depth_m=bed_depth_m(packet.gel_kg, packet.area_m2, bulk),
            laid=packet.laid,
            temp_c=temp_c,
        )
    )


def film_permeability_at(film: Film, temp_c: float) -> FloatArray:
    """Permeability of a film of the scenario at one temperature [kg/(m s Pa)]."""
    return film_permeability(
        permeability_kg_per_m_s_pa=film.permeability_kg_per_m_s_pa,
        measured_at_c=film.measured_at_c,
        activation_kj_per_mol=film.activation_kj_per_mol,
        temp_c=temp_c,
    )


def packing_kg(row: Housed) -> float:
    """Water that packing and object take up from 0 to 100 %RH [kg]."""
    return row.kind.packing_g_per_pct * GRAMS_PER_PCT_TO_KG * row.volume_m3 / row.kind.volume_m3


def _spread(value: Spread, luck: FloatArray) -> FloatArray:
    if isinstance(value, Lognormal):
        return value.median * np.exp(value.sigma_ln * luck)
    return np.full(len(luck), value)


def _drawn(kind: Kind, rows: list[Housed], luck: FloatArray) -> FloatArray:
    """Air changes a day, shape (layers, enclosures)."""
    layers = shared_among_layers(luck[:, : len(kind.layers)])
    leaks = np.array([_spread(layer.leak_per_day, layers[:, n]) for n, layer in enumerate(kind.layers)])
    for i, row in enumerate(rows):
        if row.enclosure.leak_per_day is not None and row.enclosure.kind == row.kind_name:
            leaks[-1, i] = row.enclosure.leak_per_day
    return leaks


def shared_among_layers(luck: FloatArray) -> FloatArray:
    """Turn independent standard normal draws so that the layers' sum takes the first one; they stay independent.

    A wall of layers in series leaks about as the mean of its layers' deviates, so an object that has a leaky box has
    leaky bags too, and a comparison of the two is not blurred by two separate draws.

    Parameters
    ----------
    luck : ndarray, shape (enclosures, layers)
        Standard normal deviates.

    Returns
    -------
    ndarray, shape (enclosures, layers)
        ``luck`` reflected (Householder) so that its first axis goes to the diagonal (1, ..., 1) / sqrt(layers).
    """
    layers = luck.shape[1]
    normal = np.full(layers, -1.0 / math.sqrt(layers))
    normal[0] += 1.0
    length = float(normal @ normal)
    return luck if length == 0.0 else luck - np.outer(luck @ normal, 2.0 / length * normal)


def _believed(plan: Plan, kind: Kind, leaks: FloatArray, luck: FloatArray) -> FloatArray:
    if plan.leak_knowledge == "exact":
        return leaks
    if plan.leak_knowledge == "measured":
        return leaks * np.exp(plan.leak_error_sigma_ln * luck[:, MOST_LAYERS])
    deviate = NormalDist().inv_cdf(plan.leak_quantile)
    return np.array([_spread(layer.leak_per_day, np.full(leaks.shape[1], deviate)) for layer in kind.layers])


@dataclass(frozen=True, slots=True)
class _Shape:
    """Geometry of the enclosures of one kind; arrays of shape (layers, enclosures)."""

    settings: Settings
    kind: Kind
    inside_m3: FloatArray
    area_m2: FloatArray

    @classmethod
    def of(cls, settings: Settings, kind: Kind, rows: list[Housed]) -> _Shape:
        scale = np.array([row.volume_m3 / kind.volume_m3 for row in rows])
        empty = np.array([row.empty_m3 for row in rows])
        inside = np.array(
            [
                empty if n == len(kind.layers) - 1 or layer.gap_m3 is None else layer.gap_m3 * scale
                for n, layer in enumerate(kind.layers)
            ]
        )
        area = np.array([layer.area_m2 * scale ** (2.0 / 3.0) for layer in kind.layers])
        return cls(settings, kind, inside, area)

    def _layers(self, leaks: FloatArray, temp_c: float) -> FloatArray:
        each = []
        for n, layer in enumerate(self.kind.layers):
            film = self.settings.films[layer.film]
            permeability = film_permeability_at(film, temp_c)
            through = film_conductance_kg_per_s_pa(permeability, self.area_m2[n], layer.thickness_um * 1e-6)
            leak = air_exchange_conductance_kg_per_s_pa(leaks[n], self.inside_m3[n], temp_c)
            each.append(layer_conductance_kg_per_s_pa(leak, through))
        return np.array(each)

    def wall(self, leaks: FloatArray, temp_c: float) -> FloatArray:
        return series_conductance(self._layers(leaks, temp_c), axis=0)

    def effective_air(self, leaks: FloatArray, temp_c: float) -> FloatArray:
        return effective_air_m3(self.inside_m3[-1], self.inside_m3[:-1], self._layers(leaks, temp_c))
