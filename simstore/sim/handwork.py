"""What hands do at an enclosure, and what it does to the enclosure."""

from __future__ import annotations

from simstore.sim.packets import Parcel
from simstore.sim.record import Exchange
from simstore.sim.site import Site


def put_in(site: Site, enclosure: int, parcels: list[Parcel]) -> None:
    """Lay packets into an empty enclosure, or none."""
    row = site.rows[enclosure]
    gel_kg = sum(p.gel_kg for p in parcels)
    site.contents[enclosure] = parcels
    site.inside.fill(
        enclosure,
        sorbent=site.curves.names.index(row.packet.sorbent) if row.packet is not None else 0,
        gel_kg=gel_kg,
        water_kg=sum(p.water_kg for p in parcels),
        left=sum(p.gel_kg * p.left for p in parcels) / gel_kg if parcels else 1.0,
        packet_row=site.packet_rows[row.packet_name] if row.packet_name is not None else 0,
        packets=len(parcels),
    )


def take_out(site: Site, enclosure: int) -> list[Parcel]:
    """Open an enclosure and lay its packets with the spent ones; they share its water by weight."""
    site.look([enclosure])
    site.inside.open(enclosure)
    parcels = site.contents[enclosure]
    gel_kg = sum(p.gel_kg for p in parcels)
    water_kg = site.inside.gel_water_kg(enclosure)
    for parcel in parcels:
        parcel.water_kg = water_kg * parcel.gel_kg / gel_kg
    put_in(site, enclosure, [])
    site.stockroom.return_spent(parcels, site.now_min)
    return parcels


def change_packets(
    site: Site, enclosure: int, fresh: list[Parcel], technician: str, *, reason: str, due_min: int
) -> None:
    """Change all packets of an enclosure and write it down."""
    site.look([enclosure])
    before_pct = site.inside.rh_pct(enclosure)
    spent = take_out(site, enclosure)
    put_in(site, enclosure, fresh)
    write_down(site, enclosure, fresh, technician, reason=reason, due_min=due_min, before_pct=before_pct, spent=spent)


def write_down(
    site: Site,
    enclosure: int,
    fresh: list[Parcel],
    technician: str,
    *,
    reason: str,
    due_min: int,
    before_pct: float,
    spent: list[Parcel],
) -> None:
    """Write down that fresh packets have come into an enclosure."""
    if not fresh:
        return
    gel_out_kg = sum(p.gel_kg for p in spent)
    site.record.exchanges.append(
        Exchange(
            minute=site.now_min,
            enclosure=enclosure,
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
    site.record.enclosures.exchanges[enclosure] += 1
