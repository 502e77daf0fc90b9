"""Plans (what is done) and programmes (how objects are housed)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from simstore.exchange_rules import RULES, Rule
from simstore.scenario.values.fields import Positive, Value
from simstore.units import DAYS_PER_WEEK, MINUTES_PER_DAY

AS_REGISTERED = "as_registered"
"""The programme that leaves every object in the kind that the register gives; needs no table."""

MINUTES_PER_WEEK = DAYS_PER_WEEK * MINUTES_PER_DAY

Weeks = Annotated[float, Field(gt=0, le=1000)]

Scalar = bool | int | float | str

if TYPE_CHECKING:
    RuleName = str
else:
    RuleName = Literal[tuple(RULES)]


def _rules_in_words() -> str:
    *others, last = (rule.words for rule in RULES.values())
    return f"exchange {', '.join(others)}, or {last}"


def _cadences_in_words() -> str:
    each = "; ".join(f"{name}: {rule.cadence}" for name, rule in RULES.items())
    return f"{each}. One number, or one for each metal"


class Plan(Value):
    """When gel is exchanged and with what means."""

    label: str = Field(description="the plan in a few words")
    rule: RuleName = Field(description=_rules_in_words())
    cadence_weeks: Weeks | dict[str, Weeks] = Field(default=13.0, description=_cadences_in_words())
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

    def follows(self) -> Rule:
        """Return the rule by which this plan has gel exchanged."""
        return RULES[self.rule]

    def goes_by(self, key: str) -> bool:
        """Whether the plan's rule goes by the plan's own ``key``, such as "trigger_pct"."""
        return key in self.follows().keys

    def cadence_min(self, metal: str) -> int:
        """Whole minutes of the cadence for one metal; the longest of all where the plan does not name it."""
        weeks = self.cadence_weeks
        if isinstance(weeks, dict):
            weeks = weeks.get(metal, max(weeks.values()))
        return round(weeks * MINUTES_PER_WEEK)

    @property
    def knows_leaks(self) -> bool:
        """Whether the plan goes by the leak of each enclosure, which somebody must have measured."""
        return self.goes_by("leak_knowledge") and self.leak_knowledge != "kind"


class Programme(Value):
    """A way of housing: which kind takes the place of which."""

    label: str = Field(description="name for reports")
    replace: dict[str, str] = Field(default_factory=dict, description="kind in the register -> kind of this programme")
    rehouse_min: Positive = Field(default=15.0, le=480, description="minutes to move one enclosure's objects over")
