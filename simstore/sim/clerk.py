"""The clerk, who comes every midnight and does what the plan's rule says."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.sim.exchanging import Exchanging
from simstore.sim.inspecting import Inspecting
from simstore.sim.site import Site
from simstore.sim.work_source import Work, WorkSource
from simstore.store.calendar import Turns
from simstore.units import MINUTES_PER_DAY


class Clerk(WorkSource):
    """Has due exchanges listed and rounds begun: the desk of the plan's rule."""

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self._turns = Turns({metal: site.plan.cadence_min(metal) for metal in site.settings.metals})

    def processes(self) -> Iterator[Work]:
        """Come every midnight."""
        yield self._year()

    def _year(self) -> Work:
        rule = self.site.plan.follows()
        while True:
            rule.midnight(self)
            self.site.tell()
            yield self.site.env.timeout(MINUTES_PER_DAY)

    @property
    def now_min(self) -> int:
        """Whole minutes since the run's first midnight."""
        return self.site.now_min

    def turns(self) -> Iterator[tuple[str, int]]:
        """Metals whose turn has come."""
        return self._turns.come(self.site.now_min)

    def list_due(self, until_min: int, metal: str | None = None) -> None:
        """Put on the list every exchange that falls due until then, of one metal or of all."""
        self.site.source(Exchanging).list_due(until_min, metal)

    def begin_round(self, metal: str) -> None:
        """Have every enclosure of a metal read."""
        self.site.source(Inspecting).begin_round(metal)
