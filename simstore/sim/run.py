"""One replication of one plan, from the scenario to its record."""

from __future__ import annotations

import numpy as np

from simstore.scenario.scenario import Scenario
from simstore.sim.line_up import line_up
from simstore.sim.opening import open_site
from simstore.sim.record import Ledger, RunRecord
from simstore.sim.site import Site
from simstore.sim.staff import staff_of
from simstore.sim.work_source import WorkSource
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
    site = open_site(scenario, plan, replication)
    sources = line_up(site)
    start = _gel_and_water(site, sources)
    for source in sources:
        for process in source.processes():
            site.env.process(process)
    for worker in staff_of(site, sources):
        site.env.process(worker.year())
    site.env.run(until=site.days * MINUTES_PER_DAY)
    site.inside.advance_to(site.days * HOURS_PER_DAY)
    return _close(site, sources, *start)


def _gel_and_water(site: Site, sources: list[WorkSource]) -> tuple[float, float]:
    """All dry gel and all water of the store and its packets [kg]."""
    outside = [*site.stockroom.parcels_outside(), *(parcel for source in sources for parcel in source.holds())]
    loose_gel_kg, loose_water_kg = site.stockroom.loose_kg()
    gel_kg = sum(p.gel_kg for p in outside) + sum(p.gel_kg for each in site.contents for p in each) + loose_gel_kg
    water_kg = sum(p.water_kg for p in outside) + site.inside.water_now_kg() + loose_water_kg
    return gel_kg, water_kg


def _close(site: Site, sources: list[WorkSource], gel_start_kg: float, water_start_kg: float) -> RunRecord:
    record = site.record
    inside, books = site.inside, site.stockroom.books
    year = record.enclosures
    year.counted_days, year.held_days, year.hours_over = inside.counted_days, inside.held_days, inside.hours_over
    year.dry_days = np.count_nonzero(inside.day_mean_pct < year.lower_limit_rh_pct[:, None], axis=1)
    year.held_days = year.held_days - year.dry_days
    year.liquid_hours, year.worst_rh_pct = inside.liquid_hours, inside.worst_pct
    year.excess_pct_days = inside.excess_pct_h / HOURS_PER_DAY
    year.mean_rh_pct = np.nanmean(inside.day_mean_pct, axis=1, dtype=np.float64)
    year.kind = [row.kind_name for row in site.rows]
    record.watched = {year.id[i]: inside.watched_pct[:, n] for n, i in enumerate(inside.watched.tolist())}
    gel_end_kg, water_end_kg = _gel_and_water(site, sources)
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
    record.undone = [row for source in sources for row in source.undone()]
    return record
