"""What is not known exactly: the range that is believed of one or several keys, and where it comes from."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from simstore.scenario.values.fields import Value


class Uncertain(Value):
    """One uncertain input: keys that move together between two ends.

    The ends are such that one time in ten the truth lies below the low one, and one time in ten above the high one.
    """

    keys: Annotated[tuple[str, ...], Field(min_length=1)] = Field(description="dotted keys that move together")
    low: float = Field(description="one time in ten the truth is lower")
    high: float = Field(description="one time in ten the truth is higher")
    scale: Literal["value", "factor", "added"] = Field(
        default="value", description="low and high are the values themselves, factors on them, or added to them"
    )
    label: str = Field(default="", description="name for sentences; empty for the table's name")
    source: str = Field(default="", description="where the range comes from")
