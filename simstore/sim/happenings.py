"""What comes upon the store: walls that fail, readers who ask for objects, new finds, re-housing campaigns."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
import simpy

from simstore.sim.record import Mishap
from simstore.sim.site import Site
from simstore.store.housed import Housed
from simstore.store.luck import stream
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_DAY

MINUTES_PER_YEAR = DAYS_PER_YEAR * MINUTES_PER_DAY


def failures(site: Site) -> Generator[simpy.Event, object, None]:
    """Let walls fail, each at its kind's rate; a failed one stays so until somebody sees it."""
    luck: dict[int, np.random.Generator] = {}
    highest = {i: _highest_failure_rate(site, row) for i, row in enumerate(site.rows)}
    for minute, i in _times(site, "failure", highest):
        yield site.env.timeout(minute - site.now_min)
        if i in site.failed or not site.has(i):
            continue
        rate = site.rows[i].kind.failures_per_year
        if rate < highest[i]:  # housed otherwise before or after a campaign: so many of the failures stay out
            name = site.rows[i].enclosure.id
            luck.setdefault(i, stream(site.settings.seed, site.replication, "failure kept", name))
            if luck[i].random() * highest[i] >= rate:
                continue
        site.look()
        site.inside.set_wall(i, site.failed_wall_kg_per_s_pa[:, i])
        row = site.rows[i]
        site.failed[i] = Mishap("enclosure", row.enclosure.id, row.kind_name, site.now_min)
        site.record.mishaps.append(site.failed[i])


def _highest_failure_rate(site: Site, row: Housed) -> float:
    """Failures a year in the worst kind that the objects are in during the run."""
    kinds = site.settings.kinds
    names = {row.kind_name}
    for _ in site.settings.rehousing:
        names |= {new for each in site.settings.rehousing for old, new in each.replace.items() if old in names}
    return max(kinds[name].failures_per_year for name in names)


def visits(site: Site) -> Generator[simpy.Event, object, None]:
    """Put on the list the openings that readers ask for."""
    rates: dict[int, float] = {}
    minutes: dict[int, int] = {}
    for visit in site.settings.visits:
        members = [i for i, row in enumerate(site.rows) if row.enclosure.metal == visit.metal]
        for i in members:
            rates[i] = rates.get(i, 0.0) + visit.visits_per_year / len(members)
            minutes[i] = round(visit.staff_min)
    for minute, i in _times(site, "visit", rates):
        yield site.env.timeout(minute - site.now_min)
        if site.has(i):
            site.board.visits.append((i, minutes[i], site.now_min))
            site.board.tell()


def arrivals(site: Site, first: dict[int, int]) -> Generator[simpy.Event, object, None]:
    """Ask for gel for new finds on the day when they come; ``first`` gives the minute of each enclosure."""
    for i, minute in sorted(first.items(), key=lambda item: (item[1], item[0])):
        yield site.env.timeout(minute - site.now_min)
        site.want_exchange(i, reason="new finds")
        site.board.tell()


def campaigns(site: Site) -> Generator[simpy.Event, object, None]:
    """Put on the list, on its first day, every enclosure in the store that a campaign is to move."""
    settings = site.settings
    for campaign in sorted(settings.rehousing, key=lambda c: c.starts):
        begins = max((campaign.starts - settings.start).days, 0) * MINUTES_PER_DAY
        yield site.env.timeout(max(begins - site.now_min, 0))
        for i, row in enumerate(site.rows):
            meant = not campaign.metals or row.enclosure.metal in campaign.metals
            if meant and row.kind_name in campaign.replace and site.has(i):
                site.board.moves.append((i, campaign, site.now_min))
        site.board.tell()


def _times(site: Site, activity: str, rates_per_year: dict[int, float]) -> list[tuple[int, int]]:
    """Minutes at which something happens to each enclosure at a constant rate, and the enclosure, in order."""
    end_min = site.days * MINUTES_PER_DAY
    times = []
    for i, rate in rates_per_year.items():
        if rate <= 0.0:
            continue
        luck = stream(site.settings.seed, site.replication, activity, site.rows[i].enclosure.id)
        clock = luck.exponential(MINUTES_PER_YEAR / rate)
        while clock < end_min:
            times.append((round(clock), i))
            clock += luck.exponential(MINUTES_PER_YEAR / rate)
    return sorted(times)
