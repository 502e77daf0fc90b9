"""One replication of one plan, from the scenario to its record."""

from __future__ import annotations

import numpy as np

from simstore.scenario.scenario import Scenario
from simstore.sim.due import Clerk, Reader, first_due
from simstore.sim.happenings import arrivals, campaigns, failures, visits
from simstore.sim.opening import open_site
from simstore.sim.orders import buyer, stock_taking
from simstore.sim.ovens import OvenUnit
from simstore.sim.record import Ledger, Order, RunRecord, Undone
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.store.calendar import working_sessions
from simstore.store.windows import away_days, joined, sick_days
from simstore.units import HOURS_PER_DAY, MINUTES_PER_DAY

__all__ = ["open_site", "simulate"]


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
    site, ovens, ages = open_site(scenario, plan, replication)
    settings = site.settings
    first_due(site, ages, site.inside.pairs.water_kg)
    gel_start_kg, water_start_kg = _gel_and_water(site, ovens)
    env = site.env
    env.process(stock_taking(site))
    env.process(Clerk(site).year())
    env.process(buyer(site))
    env.process(failures(site))
    env.process(visits(site))
    env.process(campaigns(site))
    env.process(arrivals(site, {i: int(site.inside.first_day[i]) * MINUTES_PER_DAY for i in site.pack_min}))
    for oven in ovens:
        env.process(oven.breakdowns())
    reader = Reader(site)
    workers = []
    for name, person in settings.technicians.items():
        off = sick_days(settings, person, name=name, replication=replication, days=site.days)
        off |= away_days(settings, name=name, days=site.days)
        sessions = working_sessions(
            person, start=settings.start, days=site.days, holidays=settings.holidays, off_days=off
        )
        workers.append(Worker(site, name, person, sessions, ovens, reader))
        env.process(workers[-1].year())
    site.attendance = joined([(s.start_min, s.end_min) for worker in workers for s in worker.sessions])
    env.run(until=site.days * MINUTES_PER_DAY)
    site.inside.advance_to(site.days * HOURS_PER_DAY)
    return _close(site, ovens, gel_start_kg, water_start_kg)


def _gel_and_water(site: Site, ovens: list[OvenUnit]) -> tuple[float, float]:
    """All dry gel and all water of the store and its packets [kg]."""
    outside = [*site.stockroom.parcels_outside(), *(p for oven in ovens for p in oven.parcels)]
    loose_gel_kg, loose_water_kg = site.stockroom.loose_kg()
    gel_kg = sum(p.gel_kg for p in outside) + sum(p.gel_kg for each in site.contents for p in each) + loose_gel_kg
    water_kg = sum(p.water_kg for p in outside) + site.inside.water_now_kg() + loose_water_kg
    return gel_kg, water_kg


def _not_taken_in(site: Site) -> list[Order]:
    """Orders that have arrived and wait for somebody, oldest first; deliveries are taken in as they come."""
    arrived = [order for order in site.record.orders if order.arrived_min is not None]
    arrived.sort(key=lambda order: order.arrived_min or 0)
    return arrived[len(arrived) - len(site.board.deliveries) :]


def _close(site: Site, ovens: list[OvenUnit], gel_start_kg: float, water_start_kg: float) -> RunRecord:
    record = site.record
    inside, books = site.inside, site.stockroom.books
    year = record.enclosures
    year.excess_pct_days = inside.excess_pct_h / HOURS_PER_DAY
    year.mean_rh_pct = np.nanmean(inside.day_mean_pct, axis=1, dtype=np.float64)
    year.kind = [row.kind_name for row in site.rows]
    record.watched = {year.id[i]: inside.watched_pct[:, n] for n, i in enumerate(inside.watched.tolist())}
    gel_end_kg, water_end_kg = _gel_and_water(site, ovens)
    gel_error = abs(gel_start_kg + books.gel_bought_kg - books.gel_lost_kg - gel_end_kg)
    flows_kg = (
        inside.through_walls_kg
        + inside.from_objects_kg
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
        water_from_objects_kg=inside.from_objects_kg,
        gel_error=gel_error / max(gel_start_kg + books.gel_bought_kg, 1e-12),
        water_error=water_error / max(inside.absolute_kg + books.absolute_kg, water_start_kg, 1e-12),
    )
    record.undone = [
        *(Undone("exchange", site.rows[due.enclosure].enclosure.id, due.due_min) for due in site.board.waiting()),
        *(Undone("inspect", site.rows[i].enclosure.id, tour.started_min) for i, tour in site.board.inspections),
        *(Undone("visit", site.rows[i].enclosure.id, due_min) for i, _, due_min in site.board.visits),
        *(Undone("replace", site.rows[i].enclosure.id, site.failed[i].minute) for i in site.to_replace()),
        *(Undone("rehouse", site.rows[i].enclosure.id, due_min) for i, _, due_min in site.board.moves),
        *(Undone("receive", order.packet, order.arrived_min or 0) for order in _not_taken_in(site)),
        *(
            Undone("unload", oven.name, oven.load.hot_min or 0)
            for oven in ovens
            if oven.state == "waiting" and oven.load
        ),
    ]
    return record
