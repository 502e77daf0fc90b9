"""Re-housing: campaigns that move objects, enclosure by enclosure, from one kind to another."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from simstore.scenario.values.events import Rehousing
from simstore.sim.exchanging import Exchanging
from simstore.sim.handwork import put_in, take_out, write_down
from simstore.sim.packets import Parcel
from simstore.sim.record import Undone
from simstore.sim.replacing import Replacing
from simstore.sim.site import Site
from simstore.sim.staff import Worker
from simstore.sim.work_source import Job, Work, WorkSource
from simstore.store.housed import Housed, house, packing_kg
from simstore.units import MINUTES_PER_DAY


class Moving(WorkSource):
    """Move the objects of an enclosure into one of another kind, with fresh gel."""

    task = "rehouse"
    handling = True

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self._moves: deque[tuple[int, Rehousing, int]] = deque()

    def processes(self) -> Iterator[Work]:
        """Begin each campaign on its first day."""
        yield self._campaigns()

    def _campaigns(self) -> Work:
        site = self.site
        for campaign in sorted(site.settings.rehousing, key=lambda c: c.starts):
            begins = max((campaign.starts - site.settings.start).days, 0) * MINUTES_PER_DAY
            yield site.env.timeout(max(begins - site.now_min, 0))
            for i, row in enumerate(site.rows):
                meant = not campaign.metals or row.enclosure.metal in campaign.metals
                if meant and row.kind_name in campaign.replace and site.has(i):
                    self._moves.append((i, campaign, site.now_min))
            site.tell()

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Move the next enclosure when there are packets for it."""
        while self._moves and self.site.rows[self._moves[0][0]].kind_name not in self._moves[0][1].replace:
            self._moves.popleft()  # another campaign was quicker
        if not self._moves:
            return
        enclosure, campaign, _ = self._moves[0]
        new = self._moved(enclosure, campaign)
        if new.packet_name is not None and len(self.site.stockroom.shelves[new.packet_name].ready) < new.packets:
            return
        minutes = worker.pace_min(campaign.rehouse_min)
        if minutes <= worker.left_min(self) and not self.site.source(Exchanging).list.in_hand(enclosure):
            yield Job(minutes, self._move(worker, minutes))

    def _moved(self, enclosure: int, campaign: Rehousing) -> Housed:
        row = self.site.rows[enclosure]
        return house(self.site.settings, row.enclosure, campaign.replace[row.kind_name])

    def _move(self, worker: Worker, minutes: int) -> Work:
        enclosure, campaign, _ = self._moves.popleft()
        exchanging, stockroom = self.site.source(Exchanging), self.site.stockroom
        exchanging.list.reserve(enclosure)
        new = self._moved(enclosure, campaign)
        fresh = stockroom.take_ready(new.packet_name, new.packets, self.site.now_min) if new.packet_name else []
        yield self.site.env.timeout(minutes)
        stockroom.lay_down(fresh)
        self._rehouse(enclosure, new, worker.name, fresh)
        exchanging.done(enclosure)

    def _rehouse(self, enclosure: int, new: Housed, technician: str, fresh: list[Parcel]) -> None:
        site = self.site
        site.look([enclosure])
        before_pct = site.inside.rh_pct(enclosure)
        spent = take_out(site, enclosure)
        moved = site.moved_walls(enclosure, new)
        site.inside.rehouse(enclosure, packing_kg=packing_kg(new), wall=moved.rows[0])
        site.walls.rows[enclosure] = moved.rows[0]
        site.walls.failed_rows[enclosure] = moved.failed_rows[0]
        site.walls.believed_rows[enclosure] = moved.believed_rows[0]
        site.rows[enclosure] = new
        site.source(Replacing).mended(enclosure)
        put_in(site, enclosure, fresh)
        write_down(
            site, enclosure, fresh, technician, reason="rehousing", due_min=site.now_min, before_pct=before_pct,
            spent=spent,
        )  # fmt: skip

    def undone(self) -> Iterator[Undone]:
        """List enclosures that are still to be moved."""
        for enclosure, _, due_min in self._moves:
            yield Undone(self.task, self.site.rows[enclosure].enclosure.id, due_min)
