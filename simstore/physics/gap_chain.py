r"""The enclosure as a chain: room, layer, gap, layer, ..., inside, packet, gel.

Each air space is a store of its own, the packing belongs to the inside, and the gel is the last store. Conductances
are taken times the saturation pressure [kg/s], so that relative humidities drive the flows:

.. math::
    \dot N_j = g_j (u_{j-1} - u_j) - g_{j+1} (u_j - u_{j+1}), \qquad
    \dot N = g_n (u_{n-1} - u) + g_p (h - u) + s, \qquad m \dot q = g_p (u - h) .
"""

from __future__ import annotations

import math

from simstore.physics.arrays import FloatArray
from simstore.physics.compiling import compiled
from simstore.physics.enclosure_rows import (
    AIR_M3,
    FILM_M,
    FILM_ROW,
    GEL_KG,
    LAYERS,
    LEAK_M3_PER_S,
    PACKET_ROW,
    PACKETS,
    PACKING_KG,
)
from simstore.physics.room_hours import CONTENT
from simstore.physics.working_rows import CAPACITY, CONDUCTANCE, COUPLING, RATE


@compiled
def layer_kg_per_s(own: FloatArray, air: FloatArray, layer: int) -> float:
    """Conductance of one layer times the saturation pressure [kg/s]: its leak beside its film.

    Parameters
    ----------
    own : ndarray
        Row of the enclosure.
    air : ndarray
        Rows of the room at one hour, or their means.
    layer : int
        From outside, from 0.
    """
    leak: float = own[LEAK_M3_PER_S + layer] * air[CONTENT]
    through = own[FILM_M + layer]
    return leak if through == 0.0 else leak + through * air[int(own[FILM_ROW + layer])]


@compiled
def wall_kg_per_s(own: FloatArray, air: FloatArray) -> float:
    """Conductance of all layers one behind the other, times the saturation pressure. [kg/s]."""
    resistance = 0.0
    for layer in range(int(own[LAYERS])):
        each = layer_kg_per_s(own, air, layer)
        if each <= 0.0:
            return 0.0
        resistance += 1.0 / each
    return 1.0 / resistance


@compiled
def packets_kg_per_s(own: FloatArray, air: FloatArray) -> float:
    """Conductance between the inside and all its gel, times the saturation pressure [kg/s]; 0 without gel."""
    each: float = air[int(own[PACKET_ROW])]
    return float(own[PACKETS]) * each if own[GEL_KG] > 0.0 else 0.0


@compiled
def full_kg(own: FloatArray, content_kg_per_m3: float, space: int) -> float:
    """Water that one air space, and the packing in the last, takes at 100 %RH. [kg]."""
    air: float = own[AIR_M3 + space] * content_kg_per_m3
    return air + own[PACKING_KG] if space == int(own[LAYERS]) - 1 else air


@compiled
def chain_rates(own: FloatArray, air: FloatArray, size: int, work: FloatArray) -> None:
    """Write the conductances [kg/s], and the symmetric tridiagonal matrix of the chain's first stores [1/s].

    Parameters
    ----------
    own, air : ndarray
        Row of the enclosure, and rows of the room at one hour or their means.
    size : int
        Stores: as many as layers for the air alone, with the gel as its end, or one more with the gel.
    work : ndarray
        Working space with the capacities of the stores [kg per unit of relative humidity]. Out: conductance of each
        layer and behind them of the packets, the diagonal, and what stands beside it.
    """
    capacity, conductance = work[CAPACITY], work[CONDUCTANCE]
    layers = int(own[LAYERS])
    for j in range(layers):
        conductance[j] = layer_kg_per_s(own, air, j)
    conductance[layers] = packets_kg_per_s(own, air)
    conductance[layers + 1] = 0.0
    for j in range(size):
        work[RATE, j] = (conductance[j] + conductance[j + 1]) / capacity[j]
        if j > 0:
            work[COUPLING, j - 1] = -conductance[j] / math.sqrt(capacity[j] * capacity[j - 1])
