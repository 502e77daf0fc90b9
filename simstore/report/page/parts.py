"""The parts that the page is made of: finished texts and numbers, so that templates only lay them out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from markupsafe import Markup

from simstore.prose.phrases import NBSP, figures, number
from simstore.statistics.estimate import Estimate

MOST_ROWS_TOGETHER: Final = 16
Tone = Literal["", "good", "bad", "open"]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its text, what it sorts by ("" for the text), and how it is meant."""

    text: str
    key: str = ""
    tone: Tone = ""


@dataclass(frozen=True, slots=True)
class Head:
    """One column: its heading, the unit below it, and whether it holds numbers."""

    text: str
    unit: str = ""
    numeric: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; the first cell of each row is its heading.

    Attributes
    ----------
    id : str
        Unique on the page.
    row_ids : sequence of str
        Ids of the rows, for links; empty for none.
    last_is_sum : bool
        The last row is the total of the others and stays below them.
    folded : bool
        It unfolds when it is asked for.
    """

    id: str
    caption: str
    heads: Sequence[Head]
    rows: Sequence[Sequence[Cell]]
    sortable: bool = False
    row_ids: Sequence[str] = ()
    last_is_sum: bool = False
    folded: bool = False
    kind: Literal["table"] = "table"

    @property
    def keeps_together(self) -> bool:
        """Whether the table is short enough to stand on one printed page."""
        return len(self.rows) <= MOST_ROWS_TOGETHER


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One plan in a chart that a reader can point at: place in % of the picture, where it leads, and its details."""

    left_pct: float
    top_pct: float
    target: str
    name: str
    facts: Sequence[str]
    side: Literal["left", "right"] = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A chart as inline SVG, with its data as a table."""

    id: str
    svg: Markup
    data: Table
    note: str = ""
    marks: Sequence[Mark] = ()
    kind: Literal["figure"] = "figure"


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A paragraph; one about the mouse or keys is of no use on paper."""

    text: str
    on_screen_only: bool = False
    kind: Literal["text"] = "text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """A list, each point with an optional catchword."""

    points: Sequence[tuple[str, str]]
    kind: Literal["points"] = "points"


@dataclass(frozen=True, slots=True, kw_only=True)
class Subhead:
    """A heading inside a section."""

    text: str
    kind: Literal["subhead"] = "subhead"


Block = Table | Figure | Text | Points | Subhead


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section of the page."""

    id: str
    title: str
    blocks: Sequence[Block]
    in_short: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """One answer of the first screen: what is asked, the answer, and a line of detail."""

    asked: str
    answer: str
    detail: str = ""


@dataclass(slots=True)
class Names:
    """Hands out ids that are unique on one page."""

    taken: set[str] = field(default_factory=set)

    def of(self, text: str) -> str:
        """Return an id made from ``text``: letters, digits and hyphens."""
        stem = "".join(c if c.isascii() and c.isalnum() else "-" for c in text).strip("-").lower() or "part"
        stem = stem if stem[0].isalpha() else f"n-{stem}"
        name, count = stem, 1
        while name in self.taken:
            count += 1
            name = f"{stem}-{count}"
        self.taken.add(name)
        return name


def num(value: float, decimals: int | None = None, *, tone: Tone = "", sign: bool = False) -> Cell:
    """Make a cell of a number; a dash where there is none."""
    if not math.isfinite(value):
        return Cell("–", "", tone)
    text = figures(value, 3, sign=sign) if decimals is None else number(value, decimals, sign=sign)
    return Cell(text, f"{value:.10g}", tone)


def span(estimate: Estimate, decimals: int | None = None) -> Cell:
    """Make a cell of an interval; a dash where the replications cannot tell."""
    low, high = estimate.low, estimate.high
    if not (math.isfinite(low) and math.isfinite(high)):
        return Cell("–")
    ends = [figures(end, 3) if decimals is None else number(end, decimals) for end in (low, high)]
    return Cell(ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}", f"{low:.10g}")


def money(amount: float, currency: str, decimals: int = 0) -> str:
    """Say an amount as "EUR 4 937"."""
    return f"{currency}{NBSP}{number(amount, decimals)}"


def held_said(share_pct: float) -> str:
    """Say a held share with two decimals, cut and not rounded, so that it never seems better than it is."""
    return f"{number(math.floor(100 * share_pct + 1e-9) / 100, 2)}{NBSP}%"
