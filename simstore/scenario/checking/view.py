"""What the cross checks look at: the sound settings, all names, and the rows of the register."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from simstore.scenario.checking.finding import Finding, KeyPath, shown, suggestion
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.settings import Settings
from simstore.units import DAYS_PER_YEAR

ROW = "(register)"
"""First part of the path of a finding about a row of the register; the row's position follows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A scenario as the rules see it; broken tables are missing from ``settings`` but not from ``names``."""

    settings: Settings
    names: Mapping[str, frozenset[str]]
    enclosures: tuple[Enclosure, ...] = field(default=())
    all_rows: bool = True
    """Whether ``enclosures`` holds every row of the register; false if some could not be read."""

    def run_days(self) -> tuple[date, date]:
        """First day of the run and the day after its last; `date.max` ends a run that would leave the calendar."""
        settings = self.settings
        days = settings.days or int(settings.years * DAYS_PER_YEAR)
        latest = date.max - timedelta(days=days)
        return settings.start, min(settings.start, latest) + timedelta(days=days)

    def used_kinds(self) -> set[str]:
        """Kinds of the register, groups and arrivals, and those that take their place."""
        used = {row.kind for row in self.enclosures} | {group.kind for group in self.settings.groups}
        used |= {batch.kind for batch in self.settings.arrivals}
        for campaign in self.settings.rehousing:
            used |= {new for old, new in campaign.replace.items() if old in used}
        for plan in self.settings.plans.values():
            programme = self.settings.programmes.get(plan.programme)
            if programme is not None:
                used |= {new for old, new in programme.replace.items() if old in used}
        return used

    def used_metals(self) -> set[str]:
        """Metals of the register, the groups and the arrivals."""
        used = {row.metal for row in self.enclosures} | {group.metal for group in self.settings.groups}
        return used | {batch.metal for batch in self.settings.arrivals}

    def used_packets(self) -> set[str]:
        """Packets that are in enclosures or in stock."""
        kinds = (self.settings.kinds.get(name) for name in self.used_kinds())
        used = {kind.packet for kind in kinds if kind is not None and kind.packet is not None}
        used |= {row.packet for row in self.enclosures if row.packet is not None}
        return used | set(self.settings.stock)

    def used_sorbents(self) -> set[str]:
        """Sorbents of the used packets."""
        packets = (self.settings.packets.get(name) for name in self.used_packets())
        return {packet.sorbent for packet in packets if packet is not None}

    def unknown(self, section: str, name: str | None, path: KeyPath) -> Iterator[Finding]:
        """Yield a finding if ``section`` defines no ``name``."""
        if name is not None and name not in self.names[section]:
            cure = suggestion(name, self.names[section], known_as=f"{section} of the scenario")
            yield Finding(path=path, value=shown(name), rule=f"there is no [{section}.{name}]", cure=cure)
