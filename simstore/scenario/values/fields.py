"""What all scenario values share: frozen, strict, no unknown keys; and a number that may be a distribution."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field


class Value(BaseModel):
    """A part of a scenario: frozen, strict, and without unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


MOST_SPREAD = 1000.0
"""Air changes a day at most, and far more than any volume in m3."""


class Lognormal(Value):
    """A positive quantity that differs from enclosure to enclosure."""

    median: float = Field(gt=0, le=MOST_SPREAD, description="half of the enclosures lie below this")
    sigma_ln: float = Field(ge=0, le=2.5, description="standard deviation of the natural logarithm; 0.7 is a factor 2")


Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Percent = Annotated[float, Field(ge=0, le=100)]
Spread = Annotated[float, Field(gt=0, le=MOST_SPREAD)] | Lognormal
Money = Annotated[float, Field(ge=0, le=10_000_000)]
"""An amount or a price; what is dearer than that is a slip."""
Minutes = Annotated[float, Field(gt=0, le=10_080)]
"""Time of a task, a week at most."""
"""One value for all, or a lognormal distribution over the enclosures of a kind."""


def middle_of(spread: Spread) -> float:
    """Median of a spread; the value itself where there is no spread."""
    return spread.median if isinstance(spread, Lognormal) else spread


Name = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[A-Za-z0-9][A-Za-z0-9 _.-]*$")]
