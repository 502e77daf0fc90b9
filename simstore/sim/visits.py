"""Readers and loans: enclosures that are opened because somebody asks for an object."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from simstore.sim.chances import times_at_rates
from simstore.sim.record import Undone
from simstore.sim.replacing import Replacing
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.work_source import Job, Work, WorkSource


class Visits(WorkSource):
    """Open an enclosure for a reader, and close it again."""

    task = "visit"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self._asked: deque[tuple[int, int, int]] = deque()

    def processes(self) -> Iterator[Work]:
        """Let readers ask, evenly likely over the enclosures of a metal."""
        yield self._readers()

    def _readers(self) -> Work:
        site = self.site
        rates: dict[int, float] = {}
        minutes: dict[int, int] = {}
        for visit in site.settings.visits:
            members = [i for i, row in enumerate(site.rows) if row.enclosure.metal == visit.metal]
            for i in members:
                rates[i] = rates.get(i, 0.0) + visit.visits_per_year / len(members)
                minutes[i] = round(visit.staff_min)
        for minute, i in times_at_rates(site, "visit", rates):
            yield site.env.timeout(minute - site.now_min)
            if site.has(i):
                self._asked.append((i, minutes[i], site.now_min))
                site.tell()

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Serve whoever has waited longest."""
        if self._asked:
            minutes = worker.pace_min(self._asked[0][1])
            if minutes <= worker.left_min(self):
                yield Job(minutes, self._serve(minutes))

    def _serve(self, minutes: int) -> Work:
        enclosure, _, _ = self._asked.popleft()
        yield self.site.env.timeout(minutes)
        self.site.look([enclosure])
        self.site.inside.open(enclosure)
        self.site.source(Replacing).notice(enclosure)

    def undone(self) -> Iterator[Undone]:
        """List openings for which readers still wait."""
        for enclosure, _, due_min in self._asked:
            yield Undone(self.task, self.site.rows[enclosure].enclosure.id, due_min)
