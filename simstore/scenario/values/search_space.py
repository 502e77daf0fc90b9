"""What ``simstore find`` may choose from: base plans, and the values that scenario keys may take."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from simstore.scenario.values.fields import Value
from simstore.scenario.values.plan import Scalar


class Search(Value):
    """The search space: every base plan with every combination of the values that concern it."""

    plans: tuple[str, ...] = Field(default=(), description="base plans; empty for every plan of the scenario")
    vary: dict[str, Annotated[tuple[Scalar, ...], Field(min_length=1)]] = Field(
        default_factory=dict,
        description='values by dotted key, "ovens.small.count" = [1, 2]; '
        "keys that begin with plans.NAME concern that base plan only",
    )
    most: int = Field(default=20_000, ge=1, le=1_000_000, description="refuse a space of more plans than this")
