"""Sorbents, their isotherms and indicators, and the packets that they are put up in."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from simstore.scenario.values.fields import Money, NotNegative, Percent, Positive, Value


class DubininAstakhov(Value):
    """q = capacity exp(-(A/E)^n) with A = R T ln(psat/p)."""

    form: Literal["dubinin_astakhov"] = Field(default="dubinin_astakhov", description="this curve")
    capacity_kg_per_kg: float = Field(ge=0.01, le=5, description="water at saturation, kg per kg of dry gel")
    energy_j_per_mol: float = Field(ge=500, le=50_000, description="characteristic energy E, J per mol (not kJ)")
    exponent: float = Field(ge=0.2, le=10, description="heterogeneity exponent n")


class Toth(Value):
    """q = K p / (1 + (K p / capacity)^t)^(1/t) with K = K0 exp(heat / (R_v T))."""

    form: Literal["toth"] = Field(default="toth", description="this curve")
    k0_kg_per_kg_pa: float = Field(
        ge=1e-20, le=1e-3, description="pre-exponential Henry constant K0, kg per kg and Pa (not kPa)"
    )
    heat_j_per_kg: float = Field(ge=1e5, le=1e7, description="isosteric heat, J per kg of water")
    capacity_kg_per_kg: float = Field(ge=0.01, le=5, description="monolayer capacity")
    exponent: float = Field(ge=0.05, le=50, description="heterogeneity exponent t")


class NarrowPore(Value):
    """The measured narrow-pore gels: q by a table between the weakest and the strongest of them."""

    form: Literal["narrow_pore"] = Field(default="narrow_pore", description="this curve")
    water_at_20_rh_pct: float = Field(
        default=12.4,
        ge=5,
        le=25,
        description="water at 20 %RH and 25 degC, % of dry mass: 11.0 the weakest of five gels, 13.5 the strongest",
    )


class DataSheet(Value):
    """A table of a data sheet at one temperature, carried to others at constant adsorption potential."""

    form: Literal["data_sheet"] = Field(default="data_sheet", description="this curve")
    measured_at_c: float = Field(default=25.0, ge=0, le=60, description="temperature of the table")
    points: tuple[tuple[Percent, NotNegative], ...] = Field(
        min_length=3, description="pairs of %RH and kg of water per kg of dry gel, both rising"
    )


Isotherm = Annotated[NarrowPore | DubininAstakhov | Toth | DataSheet, Field(discriminator="form")]


class Indicator(Value):
    """A colour change that somebody reads: gel beads or a humidity strip."""

    label: str = Field(description="name for reports")
    starts_rh_pct: Percent = Field(description="the colour begins to turn")
    ends_rh_pct: Percent = Field(description="the colour has turned")
    misread_pct: Percent = Field(default=0.0, description="readings that are called the wrong way")
    reads: Literal["gel", "air"] = Field(
        default="gel", description="what turns it: its own gel, or the enclosure's air"
    )
    max_c: float = Field(default=200.0, gt=0, le=400, description="hotter than this destroys it")
    hazard: Literal["none", "cobalt"] = Field(default="none", description="cobalt: cautions and hazardous disposal")
    source: str = Field(default="", description="where the figures come from")


class Sorbent(Value):
    """A silica gel or other sorbent as it is bought."""

    label: str = Field(description="name for reports")
    isotherm: Isotherm = Field(description="water it holds against RH; one of four forms")
    desorption: Isotherm | None = Field(default=None, description="the branch on the way down; none: no hysteresis")
    lower_bound: bool = Field(
        default=False, description="the isotherm is the least that a standard accepts, not a measured gel"
    )
    supplied_water_pct: Percent = Field(default=2.0, description="water as delivered, % of dry mass")
    bulk_kg_per_m3: float = Field(default=700.0, ge=10, le=5000, description="bulk density")
    indicator_pct: Percent = Field(
        default=100.0,
        description="share that is indicating, and hazardous waste if it holds cobalt; 100 if it cannot be told apart",
    )
    granule_pct: Percent = Field(default=0.0, description="share of broken granules among beads")
    granule_loss_per_cycle_pct: NotNegative = Field(
        default=0.0, le=50, description="dust and spillage of the granules instead"
    )
    blended: bool = Field(default=True, description="beads and granules mixed well, so that they dry evenly")
    loss_per_cycle_pct: NotNegative = Field(
        default=0.0, le=50, description="dust and spillage per exchange and drying, % of mass"
    )
    fade_per_cycle_pct: NotNegative = Field(
        default=0.0, le=50, description="capacity lost per drying, % of what is left"
    )
    discard_below_pct: Percent = Field(
        default=0.0, description="gel is thrown away when less of its first capacity is left; 0 for never"
    )
    max_c: float = Field(default=150.0, gt=0, le=400, description="never dry hotter than this")
    indicator: str | None = Field(default=None, description="name of the indicator mixed in")
    price_per_kg: Money = Field(default=0.0, description="purchase price")
    source: str = Field(default="", description="where the figures come from")


class Packet(Value):
    """A portion of sorbent as one unit that is exchanged: a perforated bag, a sachet or a cartridge."""

    label: str = Field(description="name for reports")
    sorbent: str = Field(description="name of the gel in it")
    gel_kg: float = Field(ge=0.0001, le=50, description="dry sorbent in one packet")
    area_m2: Positive = Field(default=0.0225, le=4, description="area of one face; 0.15 m x 0.15 m is 0.0225")
    faces: Literal[1, 2] = Field(default=2, description="faces that the air reaches")
    perforation_pct: Percent = Field(default=1.0, description="open share of the face")
    hole_mm: Positive = Field(default=1.0, le=20, description="diameter of one perforation")
    film_um: NotNegative = Field(default=50.0, le=5000, description="thickness of the packet's film")
    laid: Literal["flat", "heaped"] = Field(
        default="flat", description="heaped beds are twice as deep on half the area"
    )
    conductance_kg_per_s_pa: Positive | None = Field(
        default=None, le=1e-6, description="measured, instead of the model"
    )
    unit_price: Money = Field(default=0.0, description="price of the empty packet")
    life_cycles: int = Field(default=50, ge=1, le=100_000, description="exchanges before the empty packet is replaced")
