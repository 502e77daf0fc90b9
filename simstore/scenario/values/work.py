"""People, ovens, task times, stock and prices."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import Field

from simstore.scenario.values.fields import Minutes, Money, NotNegative, Percent, Positive, Value

MM_PER_M = 1000.0


class Technician(Value):
    """Somebody who does the rounds."""

    sessions: tuple[str, ...] = Field(description='weekly working times, such as "Tue 09:00-12:30"')
    wage_per_h: NotNegative = Field(default=0.0, le=100_000, description="full cost of an hour")
    leave: tuple[tuple[date, date], ...] = Field(default=(), description="first and last day away")
    starts: date | None = Field(default=None, description="first day at work; none: always")
    handling_limit_h_per_day: Positive = Field(default=24.0, le=24, description="repetitive handling allowed in a day")
    training_weeks: NotNegative = Field(default=0.0, le=104, description="weeks of learning after the first day")
    training_pct: float = Field(default=60.0, gt=0, le=100, description="pace meanwhile, % of the usual")
    sick_days_per_year: NotNegative = Field(default=0.0, le=365, description="mean; drawn as whole days")


class Oven(Value):
    """A dedicated drying oven."""

    count: int = Field(default=1, ge=0, le=50, description="ovens of this sort")
    trays: int = Field(ge=1, le=100, description="trays in one oven")
    tray_area_m2: Positive = Field(le=4, description="area of one tray; 40 cm x 40 cm is 0.16")
    bed_depth_mm: Positive = Field(default=20.0, le=200, description="depth of the gel on a tray")
    set_c: float = Field(default=104.0, ge=60, le=250, description="temperature that is set")
    cycle_h: Positive = Field(default=7.0, le=72, description="hours at temperature")
    warm_up_min: NotNegative = Field(default=45.0, le=600, description="minutes until it is hot")
    cooling: Literal["in_oven", "sealed", "bench"] = Field(
        default="in_oven",
        description="in the shut oven, hot into sealed containers, or in the open, where it takes up water again",
    )
    cool_h: NotNegative = Field(default=6.0, le=72, description="hours from heat off to cool enough to pack")
    attended: bool = Field(default=False, description="somebody must be in the building while it heats")
    least_load_pct: Percent = Field(default=50.0, description="not worth starting below this share of a full load")
    casing_w: NotNegative = Field(default=250.0, le=100_000, description="heat lost through the casing at temperature")
    uneven_pct: Percent = Field(
        default=0.0, description="spread of the residual water between packets of a load, % of it"
    )
    residual_pct: Positive | None = Field(
        default=None, le=30, description="measured water after a cycle, % of dry mass; none: the drying model"
    )
    failures_per_year: NotNegative = Field(default=0.0, le=50, description="breakdowns of one oven in a year")
    repair_price: Money = Field(default=0.0, description="price of one repair")
    repair_days: Positive = Field(default=14.0, le=365, description="days until it is repaired")
    unit_price: Money = Field(default=0.0, description="price of one")
    life_years: Positive = Field(default=10.0, ge=0.1, le=200, description="years until it is replaced")

    def load_kg(self, bulk_kg_per_m3: float) -> float:
        """Dry gel of this bulk density [kg/m3] that the trays take at a time, filled to the bed depth. [kg]."""
        return self.trays * self.tray_area_m2 * self.bed_depth_mm / MM_PER_M * bulk_kg_per_m3


class TaskTimes(Value):
    """Minutes that tasks take."""

    gear_min: NotNegative = Field(
        default=5.0, le=10_080, description="gloves, mask and setting up, once a session with handling"
    )
    inspect_min: Minutes = Field(default=0.75, description="find one enclosure and read it")
    exchange_min: Minutes = Field(default=6.0, description="open, wet packet out, dry packet in, close, write down")
    load_min: Minutes = Field(default=20.0, description="empty packets on to trays, load, start")
    unload_min: Minutes = Field(default=15.0, description="take a cooled load out")
    prepare_min: Minutes = Field(default=1.5, description="weigh, fill, perforate and seal one packet after drying")
    receive_min: Minutes = Field(default=20.0, description="take in and write up one delivery")
    leak_test_min: NotNegative = Field(
        default=10.0,
        le=10_080,
        description="handling to measure one enclosure's leak once, for plans that go by measured leaks",
    )


class Stock(Value):
    """Packets of one sort at the start, and how they are bought."""

    ready: int = Field(default=0, ge=0, le=100_000, description="dry packets in sealed containers at the start")
    spent: int = Field(default=0, ge=0, le=100_000, description="wet packets waiting for the oven at the start")
    reorder_point: int = Field(
        default=0,
        ge=0,
        le=100_000,
        description="order when usable packets outside enclosures fall to this; 0 for never",
    )
    order_quantity: int = Field(default=0, ge=0, le=100_000, description="packets in one order")
    least_order: int = Field(default=0, ge=0, le=100_000, description="smallest order that is accepted")
    price_breaks: tuple[tuple[int, Percent], ...] = Field(
        default=(), description="pairs of a quantity and the discount in % from that quantity on"
    )
    lead_days: NotNegative = Field(default=21.0, le=400, description="days from order to delivery")
    ready_gain_pct_per_year: NotNegative = Field(
        default=0.5, le=50, description="water a ready packet takes up in a year, % of dry mass"
    )

    @property
    def packets_ordered(self) -> int:
        """Packets in one order as it is accepted; 0 if none is ever made."""
        return max(self.order_quantity, self.least_order) if self.order_quantity else 0

    def discount_pct(self, packets: int) -> float:
        """Discount on an order of so many packets. [%]."""
        return max((pct for least, pct in self.price_breaks if packets >= least), default=0.0)


class Prices(Value):
    """Money that is not tied to one thing."""

    currency: str = Field(default="EUR", max_length=8, description="written behind amounts")
    energy_per_kwh: NotNegative = Field(default=0.30, le=100_000, description="electricity")
    disposal_per_kg: Money = Field(default=0.0, description="ordinary waste")
    hazardous_disposal_per_kg: Money = Field(default=0.0, description="cobalt-bearing gel")
    harm_per_object_day: Money | None = Field(
        default=None,
        description="what it is worth to spare one object a day over its limit, where knowing an input is priced; "
        "none: the standards come before any money",
    )
    discount_pct_per_year: NotNegative = Field(default=3.0, le=30, description="rate at which later money counts less")
    budget_per_year: Positive | None = Field(
        default=None, le=1_000_000_000, description="purchases stop when it is spent; none: no limit"
    )
