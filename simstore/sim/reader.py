"""What is said of an indicator or a strip by somebody who looks at it."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.scenario.values.sorbents import Indicator
from simstore.sim.site import Site
from simstore.store.luck import stream

DRAWN_AT_ONCE = 32


class Reader:
    """Judges colours: what somebody says who looks at an indicator or a strip."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._luck: dict[int, Iterator[float]] = {}

    def indicator(self, enclosure: int) -> Indicator | None:
        """Return what is read in this enclosure under the plan."""
        row = self.site.rows[enclosure]
        name = self.site.plan.indicator
        if name is None and row.packet is not None:
            name = self.site.settings.sorbents[row.packet.sorbent].indicator
        return None if name is None else self.site.settings.indicators[name]

    def read(self, enclosures: list[int]) -> list[bool]:
        """Say of each of ``enclosures`` whether it is called spent.

        In the band where the colour turns the chance to call it rises from 0 to 1; ``misread_pct`` of all
        readings are called the wrong way.
        """
        inside = self.site.inside
        gel_rh = inside.gel_rh_pct(enclosures)
        calls = []
        for i, over_gel in zip(enclosures, gel_rh.tolist(), strict=True):
            indicator = self.indicator(i)
            if indicator is None:
                calls.append(False)
                continue
            rh_pct = over_gel if indicator.reads == "gel" else inside.rh_pct(i)
            turned = (rh_pct - indicator.starts_rh_pct) / (indicator.ends_rh_pct - indicator.starts_rh_pct)
            luck = self._luck.get(i)
            if luck is None:
                luck = self._luck[i] = self._draws(self.site.rows[i].enclosure.id)
            seen, slip = next(luck), next(luck)
            calls.append((seen < turned) != (slip < indicator.misread_pct / 100.0))
        return calls

    def _draws(self, name: str) -> Iterator[float]:
        """Even chances of one enclosure, without end."""
        luck = stream(self.site.settings.seed, self.site.replication, "reading", name)
        while True:
            yield from luck.random(DRAWN_AT_ONCE).tolist()
