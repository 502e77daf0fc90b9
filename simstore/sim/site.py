"""The store during one run: what all processes share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import SupportsFloat, TypeVar

import numpy as np
import simpy
from numpy.typing import NDArray

from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Plan
from simstore.scenario.values.settings import Settings
from simstore.sim.inside import Inside
from simstore.sim.packets import Parcel, Stockroom
from simstore.sim.record import RunRecord
from simstore.store.gel import StoreCurves
from simstore.store.housed import Housed, Walls, walls
from simstore.store.outlook import Outlook
from simstore.units import MINUTES_PER_DAY, MINUTES_PER_HOUR

FloatArray = NDArray[np.float64]
Source = TypeVar("Source")


@dataclass(slots=True, kw_only=True)
class Site:
    """Everything that a process needs, in one object.

    Attributes
    ----------
    rows : list of Housed
        Enclosures in the register's order.
    contents : list of list of Parcel
        Packets in each enclosure.
    packet_rows : dict
        Row of each sort of packet in the room's hours.
    ages_days : ndarray, shape (enclosures,)
        Days from the last drying of the gel to the first midnight; NaN where that is not known.
    walls : Walls
        Walls in order, walls that have failed, and what the planner believes of them.
    pack_min : dict
        Minutes to pack each enclosure of new finds.
    reference_c : float
        Mean temperature of the room. [degC]
    sources : dict
        What makes work, by its class.
    news : Event
        Comes when somebody who waits should look for work again.
    """

    env: simpy.Environment
    settings: Settings
    plan: Plan
    replication: int
    days: int
    rows: list[Housed]
    inside: Inside
    curves: StoreCurves
    outlook: Outlook
    stockroom: Stockroom
    contents: list[list[Parcel]]
    packet_rows: dict[str, int]
    ages_days: FloatArray
    walls: Walls
    record: RunRecord
    pack_min: dict[int, float]
    reference_c: float
    sources: dict[type, object] = field(default_factory=dict)
    news: simpy.Event = field(init=False)

    def __post_init__(self) -> None:
        self.news = self.env.event()

    def tell(self) -> None:
        """Wake everybody who waits for work."""
        news, self.news = self.news, self.env.event()
        news.succeed()

    def source(self, kind: type[Source]) -> Source:
        """Return the source of work of one class."""
        return self.sources[kind]  # type: ignore[return-value]

    @property
    def now_min(self) -> int:
        """Whole minutes since the run's first midnight."""
        return int(self.env.now)

    def has(self, enclosure: int) -> bool:
        """Whether an enclosure is in the store already; finds may be still to come."""
        return int(self.inside.first_day[enclosure]) * MINUTES_PER_DAY <= self.now_min

    def look(self, enclosures: Sequence[int]) -> None:
        """Bring the inside of these enclosures up to the last full hour."""
        self.inside.advance_to(self.now_min // MINUTES_PER_HOUR, enclosures)

    def room_now(self) -> tuple[float, float]:
        """Temperature [degC] and vapour pressure [Pa] of the room in this hour."""
        room = self.inside.room
        hour = min(self.now_min // MINUTES_PER_HOUR, len(room.temp_c) - 1)
        return float(room.temp_c[hour]), float(room.psat_pa[hour] * room.activity[hour])

    def moved_walls(self, enclosure: int, new: Housed) -> Walls:
        """Wall of one enclosure after its objects have moved to ``new``."""
        scenario = Scenario(settings=self.settings, enclosures=(self.rows[enclosure].enclosure,))
        return walls(
            scenario,
            self.plan,
            [new],
            replication=self.replication,
            reference_c=self.reference_c,
        )

    def believed_due_min(self, enclosure: int, *, from_min: SupportsFloat, q: SupportsFloat) -> float:
        """When the planner believes that gel with water ``q`` [kg/kg] at ``from_min`` will have to be changed [min]."""
        row = self.rows[enclosure]
        if row.packet is None or not self.contents[enclosure]:
            return float("inf")
        ceiling = self.settings.metals[row.enclosure.metal].ceiling_rh_pct
        trigger = min(ceiling * self.plan.trigger_pct / 100.0, 99.0) / 100.0
        parcels = self.contents[enclosure]
        dry_kg = sum(parcel.gel_kg for parcel in parcels)
        day = self.outlook.due_day(
            row,
            self.walls.believed_rows[enclosure],
            gel_kg=sum(parcel.gel_kg * parcel.left for parcel in parcels),
            water_kg=dry_kg * float(q),
            from_day=float(from_min) / MINUTES_PER_DAY,
            rh=trigger,
        )
        return day * MINUTES_PER_DAY
