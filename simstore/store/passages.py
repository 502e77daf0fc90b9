"""What each film and each packet of the store lets through, hour by hour, beside the room's air."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simstore.physics.packet import bed_depth_m, packet_conductance_kg_per_s_pa
from simstore.physics.room_hours import FIRST_FILM, Room, RoomHours
from simstore.physics.wall import film_permeability
from simstore.scenario.values.housing import Film
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet

FloatArray = NDArray[np.float64]


def room_hours(settings: Settings, room: Room) -> RoomHours:
    """Prepare a run's room: its air, then all films, then all sorts of packet, in the scenario's order."""
    films = [film_permeability_at(film, room.temp_c) for film in settings.films.values()]
    packets = [one_packet(settings, packet, room.temp_c) for packet in settings.packets.values()]
    return RoomHours.of(room, _rows(films, room), _rows(packets, room))


def _rows(each: list[FloatArray], room: Room) -> FloatArray:
    return np.array(each) if each else np.zeros((0, len(room.temp_c)))


def film_row(settings: Settings, name: str) -> int:
    """Row of a film in the room's hours."""
    return FIRST_FILM + list(settings.films).index(name)


def packet_row(settings: Settings, name: str) -> int:
    """Row of a sort of packet in the room's hours."""
    return FIRST_FILM + len(settings.films) + list(settings.packets).index(name)


def one_packet(settings: Settings, packet: Packet, temp_c: FloatArray) -> FloatArray:
    """Conductance of one packet [kg/(s Pa)], shape of ``temp_c``: measured if given, else from its holes, film, bed."""
    if packet.conductance_kg_per_s_pa is not None:
        return np.full(np.shape(temp_c), packet.conductance_kg_per_s_pa)
    bulk = settings.sorbents[packet.sorbent].bulk_kg_per_m3
    return packet_conductance_kg_per_s_pa(
        area_m2=packet.area_m2,
        faces=packet.faces,
        perforation_pct=packet.perforation_pct,
        hole_mm=packet.hole_mm,
        film_um=packet.film_um,
        film_permeability_kg_per_m_s_pa=film_permeability_at(settings.films["ldpe"], temp_c),
        bed_depth_m=bed_depth_m(packet.gel_kg, packet.area_m2, bulk),
        laid=packet.laid,
        temp_c=temp_c,
    )


def film_permeability_at(film: Film, temp_c: FloatArray | float) -> FloatArray:
    """Permeability of a film of the scenario [kg/(m s Pa)]."""
    return film_permeability(
        permeability_kg_per_m_s_pa=film.permeability_kg_per_m_s_pa,
        measured_at_c=film.measured_at_c,
        activation_kj_per_mol=film.activation_kj_per_mol,
        temp_c=temp_c,
    )
