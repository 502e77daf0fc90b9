"""Plans (what is done) and programmes (how objects are housed)."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simstore.scenario.values.fields import Positive, Value

AS_REGISTERED = "as_registered"
"""The programme that leaves every object in the kind that the register gives; needs no table."""

Scalar = bool | int | float | str


class Plan(Value):
    """When gel is exchanged and with what means."""

    label: str = Field(description="the plan in a few words")
    rule: Literal["calendar", "reading", "forecast"] = Field(
        description="exchange by date, by what is read on a round, or when the believed RH nears the ceiling"
    )
    cadence_weeks: Positive | dict[str, Positive] = Field(
        default=13.0,
        description="calendar: weeks between exchanges; reading: weeks between rounds; "
        "forecast: weeks that a due list looks ahead. One number, or one for each metal",
    )
    indicator: str | None = Field(default=None, description="reading: what is read; none: the sorbent's own")
    trigger_pct: float = Field(
        default=85.0,
        gt=0,
        le=150,
        description="forecast: exchange when the believed RH reaches this share of the ceiling",
    )
    leak_knowledge: Literal["kind", "measured", "exact"] = Field(
        default="kind",
        description="forecast: what is believed of each leak: the kind's quantile, a measurement, or the truth",
    )
    leak_quantile: float = Field(default=0.5, gt=0, lt=1, description="forecast with kind: which quantile is believed")
    leak_error_sigma_ln: float = Field(
        default=0.25, ge=0, le=2, description="forecast with measured: error of the measurement"
    )
    without_packet: Literal["wait", "go_without"] = Field(
        default="wait", description="no ready packet: leave the wet one in, or take it out to be dried"
    )
    programme: str = Field(default=AS_REGISTERED, description="how the objects are housed")
    changes: dict[str, Scalar] = Field(
        default_factory=dict, description='scenario keys that this plan changes, "ovens.small.count" = 2'
    )

    @property
    def knows_leaks(self) -> bool:
        """Whether the plan goes by the leak of each enclosure, which somebody must have measured."""
        return self.rule == "forecast" and self.leak_knowledge != "kind"


class Programme(Value):
    """A way of housing: which kind takes the place of which."""

    label: str = Field(description="name for reports")
    replace: dict[str, str] = Field(default_factory=dict, description="kind in the register -> kind of this programme")
    rehouse_min: Positive = Field(default=15.0, description="minutes to move one enclosure's objects over")
