"""Blocks: what is said, once, for every place where it is read.

Texts are typographic: a minus is a minus, and what must stay on one line has a space that does not break. The terminal
and the page are two renderers of the same blocks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

from simstore.prose.phrases import NONE, figures, number

Tone = Literal["", "good", "bad", "open"]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its text, what it sorts by ("" for the text), and how it is meant."""

    text: str
    key: str = ""
    tone: Tone = ""


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Attributes
    ----------
    text, unit : str
        Heading, and the unit below it.
    numeric : bool
        Whether it holds numbers.
    short : str, optional
        Heading in a narrow place, where it is another one.
    most : int
        Letters of a cell in a narrow place; longer ones are cut. 0 for all.
    wraps : bool
        The last column, whose long cells go on in the next line of a narrow place.
    """

    text: str
    unit: str = ""
    numeric: bool = True
    short: str | None = None
    most: int = 0
    wraps: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """A paragraph; ``close`` to the block before it, where they belong together."""

    text: str
    close: bool = False
    kind: Literal["paragraph"] = "paragraph"


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """A list, each point with a catchword or with an empty one."""

    points: Sequence[tuple[str, str]]
    close: bool = False
    kind: Literal["points"] = "points"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; the first cell of each row is its heading.

    Attributes
    ----------
    caption : str
    columns : sequence of Column
    rows : sequence of sequence of Cell
    indented : bool
        In a narrow place the heading of the first column stands for the caption, and the rows under it are indented.
    """

    caption: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]
    indented: bool = False
    close: bool = False
    kind: Literal["table"] = "table"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cautions:
    """What to take care of, each with the work that it concerns; the page has a section of its own for them."""

    points: Sequence[tuple[str, str]]
    close: bool = False
    kind: Literal["cautions"] = "cautions"


Block = Paragraph | Points | Table | Cautions
KINDS: Final[dict[str, type[Block]]] = {
    "paragraph": Paragraph,
    "points": Points,
    "table": Table,
    "cautions": Cautions,
}


def num(value: float, decimals: int | None = None, *, tone: Tone = "", sign: bool = False) -> Cell:
    """Make a cell of a number; a dash where there is none."""
    if not math.isfinite(value):
        return Cell(NONE, "", tone)
    text = figures(value, 3, sign=sign) if decimals is None else number(value, decimals, sign=sign)
    return Cell(text, f"{value:.10g}", tone)


def stored(blocks: Iterable[Block]) -> list[dict[str, Any]]:
    """Lay out blocks as JSON has them."""
    return [asdict(block) for block in blocks]


def blocks_of(document: Iterable[Mapping[str, Any]]) -> list[Block]:
    """Read blocks that :func:`stored` has laid out."""
    found: list[Block] = []
    for entry in document:
        parts = dict(entry)
        if parts["kind"] == "table":
            parts["columns"] = [Column(**column) for column in parts["columns"]]
            parts["rows"] = [[Cell(**cell) for cell in row] for row in parts["rows"]]
        elif "points" in parts:
            parts["points"] = [(lead, text) for lead, text in parts["points"]]
        found.append(KINDS[parts["kind"]](**parts))
    return found
