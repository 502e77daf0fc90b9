"""Films, layers and kinds of enclosure; metals; the register of enclosures."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from simstore.scenario.values.fields import Money, Name, NotNegative, Percent, Positive, Spread, Value

Mark = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[\p{L}\p{N}][\p{L}\p{N} _.,;:/()#+&*-]*$")]
"""What is written on an enclosure."""
DaysAgo = Annotated[float, Field(ge=0, le=36_500)]


class Film(Value):
    """A wall material."""

    label: str = Field(description="name for reports")
    permeability_kg_per_m_s_pa: NotNegative = Field(le=1e-12, description="water vapour permeability")
    measured_at_c: float = Field(default=20.0, ge=-20, le=60, description="temperature of that measurement")
    activation_kj_per_mol: float = Field(default=26.0, ge=0, le=120, description="Arrhenius energy of the permeability")
    source: str = Field(default="", description="where the figures come from")


class Layer(Value):
    """One wall around the contents: a box wall with its lid, or one bag with its seal."""

    film: str = Field(description="name of the wall material")
    thickness_um: Positive = Field(le=50_000, description="thickness of the wall; 1 mm is 1000")
    area_m2: Positive = Field(le=50, description="film area at the kind's own volume; scales with volume^(2/3)")
    leak_per_day: Spread = Field(description="air changes a day of the air inside this layer, through lid or seal")
    gap_m3: Positive | None = Field(
        default=None,
        le=10,
        description="air between this layer and the next one in; the innermost layer takes the empty volume",
    )


class Kind(Value):
    """A kind of enclosure; kinds are data, not code."""

    label: str = Field(description="name for reports")
    form: Literal["box", "bag"] = Field(description="under which of the two it is reported")
    volume_m3: Positive = Field(le=10, description="inside volume")
    empty_pct: Percent = Field(default=60.0, description="share of the volume that is air")
    layers: tuple[Layer, ...] = Field(min_length=1, max_length=6, description="outermost first")
    packet: str | None = Field(default=None, description="packet that belongs in it")
    packets: int = Field(default=1, ge=0, le=200, description="packets at a time")
    packing_g_per_pct: NotNegative = Field(
        default=0.0, le=500, description="water that packing and object take up, g per %RH (not kg)"
    )
    gel_kg_per_m3: Positive | None = Field(
        default=None,
        le=1000,
        description="fill by gel per empty volume, rounded up to whole packets; instead of packets",
    )
    gel_pct_of_empty: Positive | None = Field(
        default=None, le=100, description="fill by share of the empty volume, rounded up to whole packets"
    )
    object_water_g: NotNegative = Field(default=0.0, le=10_000, description="water that objects give off after packing")
    release_days: Positive = Field(default=30.0, le=3650, description="time after which 63 % of it has been given off")
    inspect_min: NotNegative | None = Field(
        default=None, le=10_080, description="minutes to read one; none: the general time"
    )
    exchange_min: Positive | None = Field(
        default=None, le=10_080, description="minutes for one exchange; none: the general time"
    )
    unit_price: Money = Field(default=0.0, description="price of one")
    life_years: Positive = Field(default=20.0, ge=0.1, le=200, description="years until it is replaced")
    failures_per_year: NotNegative = Field(
        default=0.0, le=50, description="punctures, burst seals, lids left ajar: of one enclosure in a year"
    )
    failure_leak_per_day: Positive = Field(
        default=20.0, le=1000, description="air changes a day after a failure, until it is seen and replaced"
    )
    replace_min: Positive = Field(default=10.0, le=480, description="minutes to replace a failed one")


class Metal(Value):
    """A class of objects with one ceiling."""

    label: str = Field(description="name for reports")
    ceiling_rh_pct: float = Field(gt=0, le=100, description="relative humidity that must not be passed")
    standard_pct: Percent = Field(default=99.0, description="share of object-days that must be held")
    lower_limit_rh_pct: Percent | None = Field(
        default=None,
        description="RH below which they must not go, for finds with wood, leather or bone; none: no limit",
    )


class Enclosure(Value):
    """One enclosure: a row of the register."""

    id: Mark = Field(description="the mark on it, once only in the register")
    kind: str = Field(description="kind of enclosure")
    metal: str = Field(description="metal class of its contents")
    objects: int = Field(default=1, ge=1, le=10_000, description="objects inside")
    volume_m3: Positive | None = Field(default=None, le=10, description="inside volume; empty for that of its kind")
    empty_m3: Positive | None = Field(
        default=None, le=10, description="air beside the objects; empty for the share of its kind"
    )
    packet: str | None = Field(default=None, description="sort of packet; empty for that of its kind")
    packets: int | None = Field(default=None, ge=0, le=200, description="packets inside; empty for those of its kind")
    leak_per_day: Positive | None = Field(
        default=None, le=1000, description="measured; replaces the kind's spread in its innermost layer"
    )
    leak_ratio: Positive | None = Field(
        default=None, le=10_000, description="measured: leak of all layers, times the median of the kind"
    )
    last_regenerated: date | None = Field(
        default=None, description="when its gel was last dried; empty for never packed"
    )
    gel_water_pct: Percent | None = Field(default=None, description="weighed water, % of dry mass; instead of the date")
    lower_limit_rh_pct: Percent | None = Field(
        default=None, description="RH below which its objects must not go; empty for that of its metal"
    )
    place: str = Field(default="", description="shelf or drawer; rounds go in its order")

    @property
    def leak_known(self) -> bool:
        """Whether its own leak was measured."""
        return self.leak_per_day is not None or self.leak_ratio is not None


class Group(Value):
    """Enclosures that are not listed one by one."""

    name: Name | None = Field(default=None, max_length=54, description="begins the ids; none: the metal and the kind")
    kind: str = Field(description="kind of enclosure")
    metal: str = Field(description="metal class of the contents")
    count: int = Field(ge=1, le=100_000, description="enclosures in the group")
    objects: int = Field(default=1, ge=1, le=10_000, description="objects in each")
    volume_m3: Spread | None = Field(default=None, description="inside volume; none: that of the kind")
    regenerated_days_ago: tuple[DaysAgo, DaysAgo] = Field(
        default=(0.0, 180.0), description="last regeneration, evenly spread between these"
    )
    place: str = Field(default="", description="shelf or drawer; rounds go in its order")
