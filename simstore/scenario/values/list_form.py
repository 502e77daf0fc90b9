"""How a list that somebody keeps in a way of their own is read as the register."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simstore.scenario.values.fields import Value

DateOrder = Literal["year first", "day first", "month first"]


class ListForm(Value):
    """Headings, units, dates and words of a register that has not the columns of simstore."""

    headings: dict[str, str] = Field(description="column of the register -> heading in the list")
    units: dict[str, Literal["m3", "l", "ml", "cm3", "per day", "per hour"]] = Field(
        default_factory=dict, description="column of a volume or leak -> its unit in the list; none: m3, or a day"
    )
    all_rows: dict[str, str] = Field(
        default_factory=dict, description="column of the register -> what holds for every row, where the list has none"
    )
    kinds: dict[str, str] = Field(
        default_factory=dict,
        description='words in the list, "*2 l*" with any beside them -> kind; "" for not known yet',
    )
    metals: dict[str, str] = Field(default_factory=dict, description="the same for metal classes")
    packets: dict[str, str] = Field(default_factory=dict, description="the same for sorts of packet")
    dates: DateOrder = Field(default="year first", description="how 03/11/2025 is meant")
    decimal: Literal[".", ","] = Field(default=".", description="sign before decimals")
    rows: Literal["enclosures", "finds"] = Field(
        default="enclosures", description="finds: rows with the same id are objects in one enclosure"
    )
    sheet: str | None = Field(default=None, description="sheet of a workbook; none: the first")
