"""What hands do at an enclosure, and what it does to the enclosure."""

from __future__ import annotations

from simstore.sim.board import ExchangeDue
from simstore.sim.due import next_due
from simstore.sim.packets import Parcel
from simstore.sim.record import Exchange
from simstore.sim.site import Site
from simstore.store.housed import Housed, packing_kg


def put_in(site: Site, enclosure: int, parcels: list[Parcel]) -> None:
    """Lay packets into an empty enclosure, or none."""
    row = site.rows[enclosure]
    gel_kg = sum(p.gel_kg for p in parcels)
    site.contents[enclosure] = parcels
    if row.packet is not None:
        site.curves.sorbent[enclosure] = site.curves.names.index(row.packet.sorbent)
    site.inside.put_gel(
        enclosure,
        gel_kg=gel_kg,
        water_kg=sum(p.water_kg for p in parcels),
        left=sum(p.gel_kg * p.left for p in parcels) / gel_kg if parcels else 1.0,
        conductance_kg_per_s_pa=site.one_packet_kg_per_s_pa[row.packet_name] * len(parcels) if row.packet_name else 0.0,
    )


def take_out(site: Site, enclosure: int) -> list[Parcel]:
    """Open an enclosure and lay its packets with the spent ones; they share its water by weight."""
    site.look()
    site.inside.open(enclosure)
    parcels = site.contents[enclosure]
    gel_kg = sum(p.gel_kg for p in parcels)
    water_kg = float(site.inside.pairs.water_kg[enclosure])
    for parcel in parcels:
        parcel.water_kg = water_kg * parcel.gel_kg / gel_kg
    put_in(site, enclosure, [])
    site.stockroom.return_spent(parcels, site.now_min)
    return parcels


def show(site: Site, enclosure: int) -> None:
    """Open an enclosure for a reader, and close it again."""
    site.look()
    site.inside.open(enclosure)


def replace_wall(site: Site, enclosure: int) -> None:
    """Put the contents of a failed enclosure into a new one of the same kind."""
    site.look()
    site.inside.open(enclosure)
    site.inside.set_wall(enclosure, site.sound_wall_kg_per_s_pa[:, enclosure])
    site.failed.pop(enclosure).mended_min = site.now_min


def rehouse(site: Site, enclosure: int, new: Housed, technician: str, fresh: list[Parcel]) -> None:
    """Move the objects of an enclosure into one of another kind, with fresh gel."""
    site.look()
    before_pct = float(site.inside.now_pct[enclosure])
    spent = take_out(site, enclosure)
    moved = site.moved_walls(enclosure, new)
    site.inside.rehouse(
        enclosure,
        air_m3=float(moved.air_m3[0]),
        packing_kg=packing_kg(new),
        wall_kg_per_s_pa=moved.wall_kg_per_s_pa[:, 0],
    )
    site.sound_wall_kg_per_s_pa[:, enclosure] = moved.wall_kg_per_s_pa[:, 0]
    site.failed_wall_kg_per_s_pa[:, enclosure] = moved.failed_kg_per_s_pa[:, 0]
    site.believed_kg_per_s_pa[enclosure] = moved.believed_kg_per_s_pa[0]
    site.rows[enclosure] = new
    if enclosure in site.failed:
        site.failed.pop(enclosure).mended_min = site.now_min
    put_in(site, enclosure, fresh)
    _write(site, enclosure, technician, "rehousing", site.now_min, before_pct, spent, fresh)
    site.board.done(enclosure)
    next_due(site, enclosure)


def exchange(site: Site, due: ExchangeDue, technician: str, fresh: list[Parcel]) -> None:
    """Change all packets of an enclosure and write it down."""
    i = due.enclosure
    site.look()
    before_pct = float(site.inside.now_pct[i])
    spent = take_out(site, i)
    put_in(site, i, fresh)
    _write(site, i, technician, due.reason, due.due_min, before_pct, spent, fresh)
    site.board.done(i)
    next_due(site, i)


def _write(
    site: Site,
    i: int,
    technician: str,
    reason: str,
    due_min: int,
    before_pct: float,
    spent: list[Parcel],
    fresh: list[Parcel],
) -> None:
    """Write an exchange down."""
    if not fresh:
        return
    gel_out_kg = sum(p.gel_kg for p in spent)
    site.record.exchanges.append(
        Exchange(
            minute=site.now_min,
            enclosure=i,
            technician=technician,
            packet=fresh[0].sort,
            packets=len(fresh),
            reason=reason,
            due_min=due_min,
            rh_before_pct=before_pct,
            water_out_pct=100.0 * sum(p.water_kg for p in spent) / gel_out_kg if spent else 0.0,
            water_in_pct=100.0 * sum(p.water_kg for p in fresh) / sum(p.gel_kg for p in fresh),
        )
    )
    site.exchanged[i] += 1
