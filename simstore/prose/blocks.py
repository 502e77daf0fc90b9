"""Blocks: what is said, once, for every place where it is read.

Texts are typographic: a minus is a minus, and what must stay on one line has a space that does not break. The terminal
and the page are two renderers of the same blocks; what only one of them has room or use for says so.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

from simstore.prose.phrases import NONE, figures, number

Tone = Literal["", "good", "bad", "open"]
Place = Literal["", "terminal", "page", "screen"]
"""The only place where something is shown; empty for everywhere. A page on paper is no screen."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell.

    Attributes
    ----------
    text : str
    key : str
        What it sorts by; empty for the text.
    tone : str
        How it is meant; the text says the same.
    short : str, optional
        Text on the terminal, where it is another one.
    """

    text: str
    key: str = ""
    tone: Tone = ""
    short: str | None = None


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
        Heading on the terminal, where it is another one.
    most : int
        Letters of a cell on the terminal; longer ones are cut. 0 for all.
    wraps : bool
        The last column, whose long cells go on in the next line of the terminal.
    only : str
        The only place that has room for the column.
    """

    text: str
    unit: str = ""
    numeric: bool = True
    short: str | None = None
    most: int = 0
    wraps: bool = False
    only: Place = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of a chart that a reader can point at.

    Attributes
    ----------
    x, y : float
        Place on the chart, in the units of its axes.
    target : str
        Name of the row that it leads to.
    name : str
    facts : sequence of str
    at_pct : tuple of float, optional
        Place on the picture, from the left and from the top, once it is drawn. [%]
    """

    x: float
    y: float
    target: str
    name: str
    facts: Sequence[str]
    at_pct: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Something that is said.

    Attributes
    ----------
    only : str
        The only place where it is said.
    close : bool
        It belongs to the block before it.
    """

    only: Place = ""
    close: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading(Block):
    """A heading between blocks."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph(Block):
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Points(Block):
    """A list, each point with a catchword or with an empty one."""

    points: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table(Block):
    """A table; the first cell of each row is its heading.

    Attributes
    ----------
    caption : str
        What it shows; on the terminal the heading of the first column says so.
    columns : sequence of Column
    rows : sequence of sequence of Cell
    row_names : sequence of str
        Names of the rows, for marks that lead to them; empty for none.
    indented : bool
        On the terminal the rows are indented under the heading of the first column.
    sortable : bool
    total : bool
        The last row is the sum of the others.
    name : str
        What the page calls it in addresses.
    """

    caption: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]
    row_names: Sequence[str] = ()
    indented: bool = False
    sortable: bool = False
    total: bool = False
    name: str = "table"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cautions(Block):
    """What to take care of, each with the work that it concerns; the page has a section of its own for them."""

    points: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart(Block):
    """A chart, which the terminal cannot show.

    Attributes
    ----------
    picture : str
        Name of its files.
    data : Table, optional
        What is drawn, short enough to read; the data of the picture by default.
    marks : sequence of Mark
        Points that a reader can point at.
    note : str
        Line below it.
    """

    picture: str
    data: Table | None = None
    marks: Sequence[Mark] = ()
    note: str = ""
    only: Place = "page"


@dataclass(frozen=True, slots=True, kw_only=True)
class Data(Block):
    """A table of the folder as it is, folded away; too long for the terminal."""

    table: str
    caption: str
    only: Place = "page"


@dataclass(frozen=True, slots=True)
class Fact:
    """One answer of the first screen: what is asked, the answer, and a line of detail."""

    asked: str
    answer: str
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Blocks under a title, and the name by which links find them."""

    name: str
    title: str
    blocks: Sequence[Block]


KINDS: Final = {kind.__name__.lower(): kind for kind in (Heading, Paragraph, Points, Table, Cautions, Chart, Data)}


def num(value: float, decimals: int | None = None, *, tone: Tone = "", sign: bool = False) -> Cell:
    """Make a cell of a number; a dash where there is none."""
    if not math.isfinite(value):
        return Cell(NONE, "", tone)
    text = figures(value, 3, sign=sign) if decimals is None else number(value, decimals, sign=sign)
    return Cell(text, f"{value:.10g}", tone)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """An answer in blocks, under its title."""

    title: str
    blocks: Sequence[Block]

    def as_json(self) -> str:
        """Lay out the answer as JSON, each block on a line of its own."""
        parts = ({"kind": type(block).__name__.lower(), **asdict(block)} for block in self.blocks)
        lines = ",\n".join(json.dumps(part, ensure_ascii=False, allow_nan=False) for part in parts)
        return f'{{"title": {json.dumps(self.title, ensure_ascii=False)}, "blocks": [\n{lines}\n]}}\n'


def said_of(document: Mapping[str, Any]) -> Said:
    """Read an answer that :meth:`Said.as_json` has laid out.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is not such a document.
    """
    return Said(title=str(document["title"]), blocks=[_read(dict(block)) for block in document["blocks"]])


def _read(parts: dict[str, Any]) -> Block:
    if "columns" in parts:
        parts["columns"] = [Column(**column) for column in parts["columns"]]
        parts["rows"] = [[Cell(**cell) for cell in row] for row in parts["rows"]]
    if "marks" in parts:
        parts["marks"] = [Mark(**mark) for mark in parts["marks"]]
    if parts.get("data") is not None:
        parts["data"] = _read({"kind": "table", **parts["data"]})
    if "points" in parts:
        parts["points"] = [(lead, text) for lead, text in parts["points"]]
    return KINDS[parts.pop("kind")](**parts)
