"""When something happens that comes at a constant rate."""

from __future__ import annotations

from collections.abc import Mapping

from simstore.sim.site import Site
from simstore.store.luck import stream
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_DAY

MINUTES_PER_YEAR = DAYS_PER_YEAR * MINUTES_PER_DAY


def times_at_rates(site: Site, activity: str, rates_per_year: Mapping[int, float]) -> list[tuple[int, int]]:
    """Minutes at which something happens to each enclosure at a constant rate, and the enclosure, in order.

    Parameters
    ----------
    site : Site
    activity : str
        Name of what happens, for its own luck.
    rates_per_year : mapping of int to float
        Events a year, by enclosure.
    """
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
