"""The store as it stands at the first midnight of the run."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import simpy
from numpy.typing import NDArray

from simstore.scenario.scenario import Scenario
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Sorbent
from simstore.sim.inside import Inside
from simstore.sim.packets import Parcel, Stockroom
from simstore.sim.record import EnclosureYear, Ledger, RunRecord
from simstore.sim.site import Site
from simstore.store.climate import room_air
from simstore.store.gel import StoreCurves, curve
from simstore.store.housed import Housed, Walls, housed, packing_kg, walls
from simstore.store.outlook import Outlook, days_since_drying
from simstore.store.passages import packet_row, room_hours
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_DAY

FloatArray = NDArray[np.float64]
SPENT_ACTIVITY = 0.4
"""Packets that lie spent at the start are in balance with 40 %RH (an assumption)."""
EMPTY_LEDGER = Ledger(*(0.0,) * 14)


def run_days(settings: Settings) -> int:
    """Length of the run [d]."""
    return settings.years * int(DAYS_PER_YEAR) if settings.days is None else settings.days


def open_site(scenario: Scenario, plan_name: str, replication: int) -> Site:
    """Set up the store as it stands at the first midnight; nothing has happened yet.

    Parameters
    ----------
    scenario : Scenario
        The plan's changes are made here.
    plan_name : str
        Plan to follow.
    replication : int
        Number of the replication.

    Returns
    -------
    Site
        Without its sources of work.
    """
    scenario = scenario.under(plan_name)
    settings = scenario.settings
    plan = settings.plans[plan_name]
    days = run_days(settings)
    coming, first_day = coming_finds(settings)
    everything = scenario.enclosures + tuple(each for each, _, _ in coming)
    rows = housed(settings, plan, everything)
    present = len(scenario.enclosures)
    room = room_air(scenario, replication=replication, days=days)
    reference_c = float(room.temp_c.mean())
    wall = walls(scenario, plan, rows, replication=replication, reference_c=reference_c)

    curves = StoreCurves(_sorbents(settings, rows), len(rows))
    curves.sorbent[:] = [0 if row.packet is None else curves.names.index(row.packet.sorbent) for row in rows]
    gel_kg = np.array(
        [0.0 if r.packet is None or i >= present else r.packet.gel_kg * r.packets for i, r in enumerate(rows)]
    )
    dried = np.array(
        [0.0 if r.packet is None else settings.sorbents[r.packet.sorbent].supplied_water_pct / 100.0 for r in rows]
    )
    ages = days_since_drying(rows, settings.start)
    # Lists look a cadence ahead, so nobody asks for a later day.
    longest_min = max(plan.cadence_min(metal) for metal in settings.metals)
    outlook = Outlook(scenario, curves, days=days + math.ceil(longest_min / MINUTES_PER_DAY) + 1)
    water_kg = outlook.water_at_start(rows, wall.rows, gel_kg=gel_kg, ages=ages, dried=dried)
    names = [row.enclosure.id for row in rows]
    inside = Inside(
        walls=wall.rows,
        packing_kg=np.array([packing_kg(row) for row in rows]),
        curves=curves.table(),
        room=room,
        hours=room_hours(settings, room),
        ceiling_pct=np.array([settings.metals[r.enclosure.metal].ceiling_rh_pct for r in rows]),
        object_water_kg=_object_water(rows, ages, coming),
        release_days=np.array([r.kind.release_days for r in rows]),
        first_day=np.array([0] * present + first_day, dtype=np.int64),
        watched=[names.index(name) for name in settings.watch if name in names],
    )
    packet_rows = {name: packet_row(settings, name) for name in settings.packets}
    stockroom = Stockroom(settings.packets, settings.sorbents, settings.stock, _spent_water(settings))
    contents: list[list[Parcel]] = []
    for i, (row, water) in enumerate(zip(rows, water_kg.tolist(), strict=True)):
        each: list[Parcel] = []
        if row.packet is not None and row.packet_name is not None and i < present:
            each = [Parcel(row.packet_name, row.packet.gel_kg, water / row.packets) for _ in range(row.packets)]
            stockroom.shelves[row.packet_name].in_enclosures += row.packets
            inside.fill(
                i, sorbent=int(curves.sorbent[i]), gel_kg=float(gel_kg[i]), water_kg=water, left=1.0,
                packet_row=packet_rows[row.packet_name], packets=row.packets,
            )  # fmt: skip
        contents.append(each)
    inside.settle()
    env = simpy.Environment()
    record = RunRecord(
        scenario=scenario,
        plan=plan_name,
        replication=replication,
        days=days,
        enclosures=_year(settings, rows, wall, inside),
        room_temp_c=room.temp_c.astype(np.float32),
        room_rh_pct=(room.activity * 100.0).astype(np.float32),
        ledger=EMPTY_LEDGER,
        packets_placed={name: shelf.in_enclosures for name, shelf in stockroom.shelves.items() if shelf.in_enclosures},
    )
    return Site(
        env=env,
        settings=settings,
        plan=plan,
        replication=replication,
        days=days,
        rows=rows,
        inside=inside,
        curves=curves,
        outlook=outlook,
        stockroom=stockroom,
        contents=contents,
        packet_rows=packet_rows,
        ages_days=ages,
        walls=wall,
        record=record,
        pack_min={present + n: minutes for n, (_, minutes, _) in enumerate(coming)},
        reference_c=reference_c,
    )


def coming_finds(settings: Settings) -> tuple[list[tuple[Enclosure, float, float]], list[int]]:
    """Enclosures of finds that are still to come, with minutes of packing and water of the objects; and their days."""
    coming = []
    days = []
    for number, batch in enumerate(settings.arrivals, start=1):
        day = max((batch.arrives - settings.start).days, 0)
        for n in range(batch.count):
            enclosure = Enclosure(
                id=f"new {number}-{n + 1:03d}",
                kind=batch.kind,
                metal=batch.metal,
                objects=batch.objects,
                place=batch.place,
                last_regenerated=settings.start + timedelta(days=day),
            )
            coming.append((enclosure, batch.pack_min, batch.object_water_g / 1000.0))
            days.append(day)
    return coming, days


def _sorbents(settings: Settings, rows: list[Housed]) -> dict[str, Sorbent]:
    """Sorbents in enclosures now or after a re-housing campaign; any one where there are none."""
    later = [settings.kinds[new].packet for each in settings.rehousing for new in each.replace.values()]
    packets = [row.packet for row in rows] + [settings.packets[name] for name in later if name is not None]
    names = dict.fromkeys(packet.sorbent for packet in packets if packet is not None)
    return {name: settings.sorbents[name] for name in names or list(settings.sorbents)[:1]}


def _object_water(rows: list[Housed], ages: FloatArray, coming: list[tuple[Enclosure, float, float]]) -> FloatArray:
    """Water that objects still give off [kg]: what is left since they were packed, and that of new finds."""
    present = len(rows) - len(coming)
    water = np.array([row.kind.object_water_g / 1000.0 for row in rows])
    since = np.maximum(np.nan_to_num(ages, nan=np.inf), 0.0)
    water *= np.exp(-since / np.array([row.kind.release_days for row in rows]))
    water[present:] = [given for _, _, given in coming]
    return water


def _spent_water(settings: Settings) -> dict[str, float]:
    return {
        name: float(curve(settings.sorbents[p.sorbent].isotherm).uptake_kg_per_kg(SPENT_ACTIVITY, 20.0))
        for name, p in settings.packets.items()
    }


def _lower_limit(settings: Settings, enclosure: Enclosure) -> float:
    """RH below which the objects of an enclosure must not go, 0 for no limit. [%]."""
    own = enclosure.lower_limit_rh_pct
    limit = settings.metals[enclosure.metal].lower_limit_rh_pct if own is None else own
    return 0.0 if limit is None else limit


def _year(settings: Settings, rows: list[Housed], wall: Walls, inside: Inside) -> EnclosureYear:
    """Give what is known of the enclosures at the start; what is counted comes at the end."""
    return EnclosureYear(
        id=[row.enclosure.id for row in rows],
        kind=[row.kind_name for row in rows],
        metal=[row.enclosure.metal for row in rows],
        objects=np.array([row.enclosure.objects for row in rows], dtype=np.int64),
        leak_per_day=wall.leak_per_day,
        wall_kg_per_s_pa=wall.reference_kg_per_s_pa,
        counted_days=np.zeros(len(rows), dtype=np.int64),
        held_days=np.zeros(len(rows), dtype=np.int64),
        dry_days=np.zeros(len(rows), dtype=np.int64),
        lower_limit_rh_pct=np.array([_lower_limit(settings, row.enclosure) for row in rows]),
        days=inside.days,
        hours_over=np.zeros(len(rows), dtype=np.int64),
        liquid_hours=np.zeros(len(rows), dtype=np.int64),
        excess_pct_days=np.zeros(len(rows)),
        worst_rh_pct=np.zeros(len(rows)),
        mean_rh_pct=np.zeros(len(rows)),
        exchanges=np.zeros(len(rows), dtype=np.int64),
        week_hours_over=inside.week_hours_over,
        day_mean_rh_pct=inside.day_mean_pct,
    )
