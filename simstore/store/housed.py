"""How each enclosure is housed under a plan, and the conductances that follow from it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from simstore.physics.enclosure_rows import (
    AIR_M3,
    COLUMNS,
    FILM_M,
    FILM_ROW,
    LAYERS,
    LEAK_M3_PER_S,
    LEAST_AIR_M3,
    MOST_LAYERS,
)
from simstore.physics.wall import (
    air_exchange_conductance_kg_per_s_pa,
    air_exchange_m3_per_s,
    film_conductance_kg_per_s_pa,
    layer_conductance_kg_per_s_pa,
    series_conductance,
)
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.fields import Lognormal, Spread, middle_of
from simstore.scenario.values.housing import Enclosure, Kind
from simstore.scenario.values.plan import Plan
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet
from simstore.store.luck import stream
from simstore.store.passages import film_permeability_at, film_row

FloatArray = NDArray[np.float64]
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
    """Walls of all enclosures.

    Attributes
    ----------
    rows : ndarray, shape (enclosures, wall columns)
        Each wall as the step reads it; see `simstore.physics.enclosure_rows`.
    failed_rows : ndarray, shape (enclosures, wall columns)
        The wall when its innermost layer has failed.
    leak_per_day : ndarray, shape (enclosures,)
        Air changes of the innermost layer, as drawn.
    reference_kg_per_s_pa : ndarray, shape (enclosures,)
        Conductance at the reference temperature.
    believed_rows : ndarray, shape (enclosures, wall columns)
        The wall as the planner believes it to be.
    """

    rows: FloatArray
    failed_rows: FloatArray
    leak_per_day: FloatArray
    reference_kg_per_s_pa: FloatArray
    believed_rows: FloatArray


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


def walls(scenario: Scenario, plan: Plan, rows: list[Housed], *, replication: int, reference_c: float) -> Walls:
    """Draw every leak and compute the walls."""
    settings = scenario.settings
    luck = np.array(
        [stream(settings.seed, replication, "leak", row.enclosure.id).standard_normal(MOST_LAYERS + 1) for row in rows]
    )
    count = len(rows)
    sound, failed, believed = (np.zeros((count, COLUMNS - LAYERS)) for _ in range(3))
    leak, reference = np.empty(count), np.empty(count)
    for name in dict.fromkeys(row.kind_name for row in rows):
        members = np.array([i for i, row in enumerate(rows) if row.kind_name == name])
        kind = settings.kinds[name]
        own = [rows[i] for i in members]
        leaks = _drawn(kind, own, luck[members])
        shape = _Shape.of(settings, kind, own)
        sound[members] = shape.wall_rows(leaks)
        reference[members] = shape.wall(leaks, reference_c)
        worse = leaks.copy()
        if kind.failures_per_year > 0:
            worse[-1] = np.maximum(worse[-1], kind.failure_leak_per_day)
        failed[members] = shape.wall_rows(worse)
        believed[members] = shape.wall_rows(_believed(plan, kind, leaks, luck[members]))
        leak[members] = leaks[-1]
    return Walls(sound, failed, leak, reference, believed)


def walls_as_leaky_as(settings: Settings, row: Housed, ratios: FloatArray) -> FloatArray:
    """Walls of one enclosure if all its layers leaked so many times the median of its kind.

    Parameters
    ----------
    ratios : ndarray, shape (n,)
        Leak over the kind's median.

    Returns
    -------
    ndarray, shape (n, wall columns)
        As the step reads them.
    """
    shape = _Shape.of(settings, row.kind, [row] * len(ratios))
    return shape.wall_rows(np.outer([middle_of(layer.leak_per_day) for layer in row.kind.layers], ratios))


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
    medians = np.array([middle_of(layer.leak_per_day) for layer in kind.layers])
    for i, row in enumerate(rows):
        if row.enclosure.kind != row.kind_name:
            continue
        if row.enclosure.leak_ratio is not None:
            leaks[:, i] = medians * row.enclosure.leak_ratio
        if row.enclosure.leak_per_day is not None:
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

    def wall_rows(self, leaks: FloatArray) -> FloatArray:
        """Write the walls down for the step, shape (enclosures, wall columns)."""
        rows = np.zeros((leaks.shape[1], COLUMNS - LAYERS))
        rows[:, 0] = len(self.kind.layers)
        for n, layer in enumerate(self.kind.layers):
            rows[:, AIR_M3 - LAYERS + n] = np.maximum(self.inside_m3[n], LEAST_AIR_M3)
            rows[:, LEAK_M3_PER_S - LAYERS + n] = air_exchange_m3_per_s(leaks[n], self.inside_m3[n])
            rows[:, FILM_M - LAYERS + n] = self.area_m2[n] / (layer.thickness_um * 1e-6)
            rows[:, FILM_ROW - LAYERS + n] = film_row(self.settings, layer.film)
        return rows
