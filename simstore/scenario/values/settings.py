"""All that scenario.toml says, as one frozen value."""

from __future__ import annotations

from datetime import date

from pydantic import Field

from simstore.scenario.values.events import Arrival, Incident, Rehousing, Visits
from simstore.scenario.values.fields import Value
from simstore.scenario.values.housing import Film, Group, Kind, Metal
from simstore.scenario.values.list_form import ListForm
from simstore.scenario.values.plan import Plan, Programme
from simstore.scenario.values.room import Climate
from simstore.scenario.values.search_space import Search
from simstore.scenario.values.sorbents import Indicator, Packet, Sorbent
from simstore.scenario.values.uncertain import Uncertain
from simstore.scenario.values.work import Oven, Prices, Stock, TaskTimes, Technician


class Settings(Value):
    """All that scenario.toml says; built-in films, sorbents and indicators are merged in before."""

    title: str = Field(min_length=1, max_length=120, description="name of the store, in headings")
    note: str = Field(default="", description="where the data come from; demonstration data say so here")
    start: date = Field(description="first day of the run")
    years: int = Field(default=1, ge=1, le=30, description="length of the run; a year is 365 days")
    days: int | None = Field(default=None, ge=1, le=10_950, description="length of the run in days, instead of years")
    horizon_years: int = Field(
        default=5, ge=1, le=30, description="years over which find judges a plan, each year by itself"
    )
    seed: int = Field(default=1, ge=0, le=2**53, description="fixes all luck: same seed, same results")
    register_csv: str | None = Field(
        default=None, alias="register", description="file of enclosures, CSV or xlsx, relative to this file"
    )
    list_form: ListForm | None = Field(
        default=None, alias="list", description="how to read a register that has headings of its own"
    )
    fit: str | None = Field(
        default=None, description="file of leaks that `simstore fit` wrote; it goes before the kinds and the register"
    )
    default_plan: str = Field(description="plan that is run when none is named")
    climate: Climate = Field(description="air of the store room")
    metals: dict[str, Metal] = Field(min_length=1, description="classes of objects with one ceiling")
    kinds: dict[str, Kind] = Field(min_length=1, description="kinds of enclosure")
    packets: dict[str, Packet] = Field(default_factory=dict, description="sorts of packet")
    films: dict[str, Film] = Field(default_factory=dict, description="wall materials beside the built-in ones")
    sorbents: dict[str, Sorbent] = Field(default_factory=dict, description="gels beside the built-in ones")
    indicators: dict[str, Indicator] = Field(default_factory=dict, description="colours beside the built-in ones")
    groups: tuple[Group, ...] = Field(default=(), description="enclosures that are not listed one by one")
    technicians: dict[str, Technician] = Field(default_factory=dict, description="people who do the work")
    ovens: dict[str, Oven] = Field(default_factory=dict, description="drying ovens")
    tasks: TaskTimes = Field(default_factory=TaskTimes, description="minutes that tasks take")
    stock: dict[str, Stock] = Field(default_factory=dict, description="by packet")
    prices: Prices = Field(default_factory=Prices, description="money that is not tied to one thing")
    plans: dict[str, Plan] = Field(min_length=1, description="what is done, and when")
    programmes: dict[str, Programme] = Field(default_factory=dict, description="other ways of housing the objects")
    incidents: tuple[Incident, ...] = Field(default=(), description="failures on given days")
    visits: tuple[Visits, ...] = Field(default=(), description="openings for readers and loans")
    arrivals: tuple[Arrival, ...] = Field(default=(), description="batches of new finds")
    rehousing: tuple[Rehousing, ...] = Field(default=(), description="campaigns that move objects to another kind")
    watch: tuple[str, ...] = Field(default=(), description="enclosures whose RH is written down hour by hour")
    holidays: tuple[date, ...] = Field(default=(), description="days on which nobody works")
    uncertain: dict[str, Uncertain] = Field(
        default_factory=dict, description="ranges that sensitivity moves inputs over; others get common ones"
    )
    search: Search | None = Field(default=None, description="what find may choose from; none: plans near those here")
