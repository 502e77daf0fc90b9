"""Leaks that were learnt from measurements: a file that `simstore fit` writes and a scenario names."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from simstore.scenario.values.fields import Value

Ratio = Annotated[float, Field(gt=0, le=10_000)]


class FittedKind(Value):
    """How leaky a kind of enclosure has turned out to be."""

    times_median: Ratio = Field(description="all leaks of the kind, times what the scenario says")
    sigma_ln: float = Field(ge=0, le=2.5, description="standard deviation of the natural logarithm between enclosures")


class Fitted(Value):
    """All that was learnt."""

    kinds: dict[str, FittedKind] = Field(default_factory=dict)
    enclosures: dict[str, Ratio] = Field(
        default_factory=dict, description="leak of all layers of one enclosure, times the median that its kind has now"
    )
