"""Walls that fail: each at its kind's rate, unnoticed until somebody is there; then the enclosure is replaced."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

import numpy as np

from simstore.sim.chances import times_at_rates
from simstore.sim.record import Mishap, Undone
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.work_source import Job, Work, WorkSource
from simstore.store.housed import Housed
from simstore.store.luck import stream


class Replacing(WorkSource):
    """Put the contents of an enclosure whose wall has failed into a new one of the same kind.

    Attributes
    ----------
    failed : dict
        Enclosures whose wall has failed, with the note of it.
    """

    task = "replace"
    handling = True

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.failed: dict[int, Mishap] = {}
        self._noticed: deque[int] = deque()

    def processes(self) -> Iterator[Work]:
        """Let walls fail; a failed one stays so until somebody sees it."""
        yield self._failures()

    def _failures(self) -> Work:
        site = self.site
        luck: dict[int, np.random.Generator] = {}
        highest = {i: self._highest_rate(row) for i, row in enumerate(site.rows)}
        for minute, i in times_at_rates(site, "failure", highest):
            yield site.env.timeout(minute - site.now_min)
            if i in self.failed or not site.has(i):
                continue
            rate = site.rows[i].kind.failures_per_year
            if rate < highest[i]:  # housed otherwise before or after a campaign: so many of the failures stay out
                name = site.rows[i].enclosure.id
                luck.setdefault(i, stream(site.settings.seed, site.replication, "failure kept", name))
                if luck[i].random() * highest[i] >= rate:
                    continue
            site.look([i])
            site.inside.set_wall(i, site.walls.failed_rows[i])
            row = site.rows[i]
            self.failed[i] = Mishap("enclosure", row.enclosure.id, row.kind_name, site.now_min)
            site.record.mishaps.append(self.failed[i])

    def _highest_rate(self, row: Housed) -> float:
        """Failures a year in the worst kind that the objects are in during the run."""
        settings = self.site.settings
        names = {row.kind_name}
        for _ in settings.rehousing:
            names |= {new for each in settings.rehousing for old, new in each.replace.items() if old in names}
        return max(settings.kinds[name].failures_per_year for name in names)

    def notice(self, enclosure: int) -> None:
        """See, at an enclosure, whether its wall has failed."""
        if enclosure in self.failed and enclosure not in self._noticed:
            self._noticed.append(enclosure)

    def mended(self, enclosure: int) -> None:
        """Write down that an enclosure is in order again, if its wall had failed."""
        if enclosure in self.failed:
            self.failed.pop(enclosure).mended_min = self.site.now_min

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Replace the enclosure that was noticed first."""
        while self._noticed and self._noticed[0] not in self.failed:
            self._noticed.popleft()  # mended meanwhile
        if self._noticed:
            minutes = worker.pace_min(self.site.rows[self._noticed[0]].kind.replace_min)
            if minutes <= worker.left_min(self):
                yield Job(minutes, self._replace(minutes))

    def _replace(self, minutes: int) -> Work:
        enclosure = self._noticed.popleft()
        yield self.site.env.timeout(minutes)
        if enclosure in self.failed:
            self.site.look([enclosure])
            self.site.inside.open(enclosure)
            self.site.inside.set_wall(enclosure, self.site.walls.rows[enclosure])
            self.mended(enclosure)

    def undone(self) -> Iterator[Undone]:
        """List enclosures that somebody has seen to have failed and that have not been mended since."""
        for i in self._noticed:
            if i in self.failed:
                yield Undone(self.task, self.site.rows[i].enclosure.id, self.failed[i].minute)
