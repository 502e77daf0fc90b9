"""New finds: enclosures that come during the run and have to be packed."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.sim.exchanging import Exchanging
from simstore.sim.work_source import Work, WorkSource
from simstore.units import MINUTES_PER_DAY


class Arrivals(WorkSource):
    """Ask for gel for new finds on the day when they come; packing them is an exchange."""

    def processes(self) -> Iterator[Work]:
        """Let finds come."""
        yield self._arrivals()

    def _arrivals(self) -> Work:
        site = self.site
        coming = sorted((int(site.inside.first_day[i]) * MINUTES_PER_DAY, i) for i in site.pack_min)
        for minute, i in coming:
            yield site.env.timeout(minute - site.now_min)
            site.source(Exchanging).want(i, reason="new finds", minutes=site.pack_min[i])
            site.tell()
