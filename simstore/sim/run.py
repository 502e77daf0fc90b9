"""One replication of one plan, from the scenario to its record."""

from __future__ import annotations

import math

import numpy as np
import simpy
from numpy.typing import NDArray

from simstore.physics.uptake import Pairs, Room
from simstore.scenario.changes import for_plan
from simstore.scenario.value import Scenario
from simstore.sim.board import Board
from simstore.sim.clock import working_sessions
from simstore.sim.gel import StoreCurves, curve
from simstore.sim.history import days_since_drying, water_at_start
from simstore.sim.housing import Housed, Walls, housed, one_packet, packet_conductances, packing_kg, walls
from simstore.sim.inside import Inside
from simstore.sim.orders import buyer, stock_taking
from simstore.sim.outlook import Outlook
from simstore.sim.ovens import OvenUnit
from simstore.sim.packets import Parcel, Stockroom
from simstore.sim.record import EnclosureYear, Ledger, RunRecord, Undone
from simstore.sim.rules import Reader, clerk, first_due
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.weather import room_air
from simstore.units import DAYS_PER_YEAR, HOURS_PER_DAY, MINUTES_PER_DAY

SPENT_ACTIVITY = 0.4
"""Packets that lie spent at the start are in balance with 40 %RH (an assumption)."""
EMPTY_LEDGER = Ledger(*(0.0,) * 14)


def simulate(scenario: Scenario, plan: str, replication: int = 0) -> RunRecord:
    """Live through the store's year, or years, once.

    Parameters
    ----------
    scenario : Scenario
        Store, climate, people and plans.
    plan : str
        Name of the plan; its changes to the scenario are made first.
    replication : int
        Number of the replication; it and the scenario's seed fix all luck.

    Returns
    -------
    RunRecord
        Rows and arrays of everything that happened; see `simstore.results` for tables.
    """
    scenario = for_plan(scenario, plan)
    site, ovens, ages = open_site(scenario, plan, replication)
    settings = scenario.settings
    first_due(site, ages, site.inside.pairs.water_kg)
    gel_start_kg, water_start_kg = _gel_and_water(site, ovens)
    env = site.env
    env.process(stock_taking(site))
    env.process(clerk(site))
    env.process(buyer(site))
    reader = Reader(site)
    for name, person in settings.technicians.items():
        sessions = working_sessions(person, start=settings.start, days=site.days, holidays=settings.holidays)
        env.process(Worker(site, name, person, sessions, ovens, reader).year())
    env.run(until=site.days * MINUTES_PER_DAY)
    site.inside.advance_to(site.days * HOURS_PER_DAY)
    return _close(site, ovens, gel_start_kg, water_start_kg)


def open_site(scenario: Scenario, plan_name: str, replication: int) -> tuple[Site, list[OvenUnit], NDArray[np.float64]]:
    """Set up the store as it stands at the first midnight; nothing has happened yet."""
    settings = scenario.settings
    plan = settings.plans[plan_name]
    days = settings.years * int(DAYS_PER_YEAR)
    rows = housed(settings, plan, scenario.enclosures)
    room = room_air(scenario, replication=replication, days=days)
    reference_c = float(room.temp_c.mean())
    low, high = math.floor(room.temp_c.min()) - 1, math.ceil(room.temp_c.max()) + 1
    temps_c = np.arange(low, high + 1, dtype=np.float64)
    wall = walls(scenario, plan, rows, replication=replication, temps_c=temps_c, reference_c=reference_c)

    kinds = {row.packet.sorbent: settings.sorbents[row.packet.sorbent] for row in rows if row.packet is not None}
    curves = StoreCurves(kinds or dict(list(settings.sorbents.items())[:1]), len(rows))
    curves.sorbent[:] = [0 if row.packet is None else curves.names.index(row.packet.sorbent) for row in rows]
    gel_kg = np.array([0.0 if row.packet is None else row.packet.gel_kg * row.packets for row in rows])
    dried = np.array(
        [0.0 if r.packet is None else settings.sorbents[r.packet.sorbent].supplied_water_pct / 100.0 for r in rows]
    )
    ages = days_since_drying(rows, settings.start)
    outlook = Outlook(scenario, first_day=-int(np.nanmax(ages, initial=0.0)) - 1, days=days)
    water_kg = water_at_start(rows, wall, curves, outlook, gel_kg=gel_kg, ages=ages, dried=dried)
    inside = Inside(
        _pairs(
            settings_rows=rows,
            wall=wall,
            curves=curves,
            room=room,
            gel_kg=gel_kg,
            water_kg=water_kg,
            conductances=packet_conductances(settings, rows, reference_c),
        ),
        curves,
        room,
        np.array([settings.metals[r.enclosure.metal].ceiling_rh_pct for r in rows]),
    )

    stockroom = Stockroom(settings.packets, settings.sorbents, settings.stock, _spent_water(scenario))
    contents: list[list[Parcel]] = []
    for row, water in zip(rows, water_kg.tolist(), strict=True):
        each = (
            []
            if row.packet is None
            else [Parcel(row.packet_name or "", row.packet.gel_kg, water / row.packets) for _ in range(row.packets)]
        )
        for parcel in each:
            stockroom.shelves[parcel.sort].in_enclosures += 1
        contents.append(each)
    env = simpy.Environment()
    record = RunRecord(
        plan=plan_name,
        replication=replication,
        days=days,
        enclosures=_year(rows, wall, inside, np.zeros(len(rows), dtype=np.int64)),
        room_temp_c=room.temp_c.astype(np.float32),
        room_rh_pct=(room.activity * 100.0).astype(np.float32),
        ledger=EMPTY_LEDGER,
    )
    budget = settings.prices.budget_per_year
    site = Site(
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
        board=Board(env),
        contents=contents,
        one_packet_kg_per_s_pa={n: one_packet(settings, p, reference_c) for n, p in settings.packets.items()},
        believed_kg_per_s_pa=wall.believed_kg_per_s_pa,
        exchanged=record.enclosures.exchanges,
        due_min=np.full(len(rows), np.inf),
        record=record,
        budget_left=float("inf") if budget is None else budget * settings.years,
    )
    units = [
        OvenUnit(site, name if spec.count == 1 else f"{name} {n + 1}", spec)
        for name, spec in settings.ovens.items()
        for n in range(spec.count)
    ]
    return site, units, ages


def _pairs(
    *,
    settings_rows: list[Housed],
    wall: Walls,
    curves: StoreCurves,
    room: Room,
    gel_kg: NDArray[np.float64],
    water_kg: NDArray[np.float64],
    conductances: NDArray[np.float64],
) -> Pairs:
    """Enclosures with their air and packing in balance with their gel, or with the room where there is none."""
    packing = np.array([packing_kg(row) for row in settings_rows])
    pairs = Pairs(
        wall_temps_c=wall.temps_c,
        wall_kg_per_s_pa=wall.wall_kg_per_s_pa,
        packet_kg_per_s_pa=conductances,
        air_m3=wall.air_m3,
        packing_kg=packing,
        gel_kg=gel_kg,
        near_kg=np.zeros(len(gel_kg)),
        water_kg=water_kg,
        curves=curves,
    )
    pairs.refresh(float(room.temp_c[0]))
    inside = np.where(gel_kg > 0, pairs.gel_activity(float(room.temp_c[0])), room.activity[0])
    pairs.near_kg = pairs.capacity_kg(float(room.content_kg_per_m3[0])) * inside
    return pairs


def _spent_water(scenario: Scenario) -> dict[str, float]:
    settings = scenario.settings
    return {
        name: float(curve(settings.sorbents[p.sorbent].isotherm).uptake_kg_per_kg(SPENT_ACTIVITY, 20.0))
        for name, p in settings.packets.items()
    }


def _year(rows: list[Housed], wall: Walls, inside: Inside, exchanges: NDArray[np.int64]) -> EnclosureYear:
    """Bind the arrays in which the run counts; they fill as it goes."""
    return EnclosureYear(
        kind=[row.kind_name for row in rows],
        metal=[row.enclosure.metal for row in rows],
        objects=np.array([row.enclosure.objects for row in rows], dtype=np.int64),
        leak_per_day=wall.leak_per_day,
        wall_kg_per_s_pa=wall.reference_kg_per_s_pa,
        held_days=inside.held_days,
        days=inside.days,
        hours_over=inside.hours_over,
        excess_pct_days=inside.excess_pct_h,
        worst_rh_pct=inside.worst_pct,
        mean_rh_pct=np.zeros(len(rows)),
        exchanges=exchanges,
        week_hours_over=inside.week_hours_over,
        day_mean_rh_pct=inside.day_mean_pct,
    )


def _gel_and_water(site: Site, ovens: list[OvenUnit]) -> tuple[float, float]:
    """All dry gel and all water of the store and its packets [kg]."""
    outside = [*site.stockroom.parcels_outside(), *(p for oven in ovens for p in oven.parcels)]
    loose_gel_kg, loose_water_kg = site.stockroom.loose_kg()
    gel_kg = sum(p.gel_kg for p in outside) + sum(p.gel_kg for each in site.contents for p in each) + loose_gel_kg
    water_kg = sum(p.water_kg for p in outside) + site.inside.water_now_kg() + loose_water_kg
    return gel_kg, water_kg


def _close(site: Site, ovens: list[OvenUnit], gel_start_kg: float, water_start_kg: float) -> RunRecord:
    record = site.record
    inside, books = site.inside, site.stockroom.books
    year = record.enclosures
    year.excess_pct_days = inside.excess_pct_h / HOURS_PER_DAY
    year.mean_rh_pct = inside.day_mean_pct.mean(axis=1, dtype=np.float64)
    gel_end_kg, water_end_kg = _gel_and_water(site, ovens)
    gel_error = abs(gel_start_kg + books.gel_bought_kg - books.gel_lost_kg - gel_end_kg)
    flows_kg = (
        inside.through_walls_kg
        + inside.with_openings_kg
        + books.water_bought_kg
        + books.water_regained_kg
        - books.water_driven_off_kg
        - books.water_lost_kg
    )
    water_error = abs(water_start_kg + flows_kg - water_end_kg)
    record.ledger = Ledger(
        gel_start_kg=gel_start_kg,
        gel_bought_kg=books.gel_bought_kg,
        gel_lost_kg=books.gel_lost_kg,
        gel_end_kg=gel_end_kg,
        water_start_kg=water_start_kg,
        water_through_walls_kg=inside.through_walls_kg,
        water_with_openings_kg=inside.with_openings_kg,
        water_with_purchases_kg=books.water_bought_kg,
        water_driven_off_kg=books.water_driven_off_kg,
        water_regained_kg=books.water_regained_kg,
        water_lost_with_gel_kg=books.water_lost_kg,
        water_end_kg=water_end_kg,
        gel_error=gel_error / max(gel_start_kg + books.gel_bought_kg, 1e-12),
        water_error=water_error / max(inside.absolute_kg + books.absolute_kg, water_start_kg, 1e-12),
    )
    record.undone = [
        *(Undone("exchange", site.rows[due.enclosure].enclosure.id, due.due_min) for due in site.board.waiting()),
        *(Undone("inspect", site.rows[i].enclosure.id, tour.started_min) for i, tour in site.board.inspections),
        *(
            Undone("unload", oven.name, oven.load.hot_min or 0)
            for oven in ovens
            if oven.state == "waiting" and oven.load
        ),
    ]
    return record
