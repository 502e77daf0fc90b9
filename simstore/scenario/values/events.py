"""What happens to the store from outside: incidents, visits of readers, finds that come in."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import Field

from simstore.scenario.values.fields import NotNegative, Positive, Value


class Incident(Value):
    """Something fails for a while: the first day and a number of days."""

    what: Literal["oven_out", "air_handling_out", "power_cut", "person_away"] = Field(
        description="oven_out: no heating; air_handling_out: the room changes by the shifts, or its plant stops; "
        "power_cut: both; person_away: nobody comes for this person"
    )
    starts: date = Field(description="first day")
    days: Positive = Field(le=3650, description="length of the failure")
    name: str | None = Field(default=None, description="oven or technician; none: all of them")
    shift_c: float = Field(default=0.0, ge=-20, le=20, description="air handling: added to the room's temperature")
    shift_rh_pct: float = Field(default=15.0, ge=-60, le=60, description="air handling: added to the room's RH")


class Visits(Value):
    """Readers and loans: enclosures of one metal that are opened in working hours."""

    metal: str = Field(description="metal class that is asked for")
    visits_per_year: NotNegative = Field(
        le=10_000, description="openings of this class a year, evenly likely over enclosures"
    )
    staff_min: Positive = Field(default=15.0, le=480, description="minutes of a technician for one opening")


class Arrival(Value):
    """A batch of new finds: enclosures that come on one day and have to be packed."""

    arrives: date = Field(description="day on which they come")
    kind: str = Field(description="kind of enclosure they are packed in")
    metal: str = Field(description="metal class")
    count: int = Field(ge=1, le=10_000, description="enclosures")
    objects: int = Field(default=1, ge=1, le=10_000, description="objects in each")
    pack_min: Positive = Field(default=20.0, le=480, description="minutes to pack one enclosure with its gel")
    object_water_g: NotNegative = Field(default=0.0, le=10_000, description="water that the objects still give off")
    place: str = Field(default="", description="shelf or drawer; rounds go in its order")


class Rehousing(Value):
    """A campaign that moves objects, enclosure by enclosure, from one kind to another during the run."""

    starts: date = Field(description="first day of the campaign")
    replace: dict[str, str] = Field(min_length=1, description="kind that goes -> kind that takes its place")
    rehouse_min: Positive = Field(default=15.0, le=480, description="minutes for one enclosure")
    metals: tuple[str, ...] = Field(default=(), description="only these metals; empty for all")
