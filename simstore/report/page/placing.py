"""Blocks as parts of the page: ids that are unique on it, charts as inline SVG, long tables from the folder."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal

from markupsafe import Markup

from simstore.prose.blocks import (
    Block,
    Cautions,
    Cell,
    Chart,
    Column,
    Data,
    Mark,
    Section,
    Table,
    num,
)
from simstore.prose.phrases import NONE, begun
from simstore.report.charts.picture import Picture, place_pct
from simstore.report.charts.save import svg_of
from simstore.report.page.inline_svg import inlined
from simstore.results.reading import ResultFolder

if TYPE_CHECKING:
    import pandas as pd

MOST_ROWS: Final = 60
"""Rows of a long table on the page; its file has all."""
MOST_ROWS_TOGETHER: Final = 16
"""A table of so many rows is kept on one printed page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedTable:
    """A table with its id, without the columns for which only the terminal has use; folded if it is long."""

    id: str
    caption: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]
    sortable: bool
    row_ids: Sequence[str] = ()
    total: bool = False
    folded: bool = False
    kind: Literal["table"] = "table"

    @property
    def keeps_together(self) -> bool:
        """Whether the table is short enough to stand on one printed page."""
        return len(self.rows) <= MOST_ROWS_TOGETHER


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedMark:
    """A point of a chart, in % of the picture, with the id of what it leads to."""

    left_pct: float
    top_pct: float
    target: str
    name: str
    facts: Sequence[str]

    @property
    def side(self) -> str:
        """Where its words have room."""
        return "left" if self.left_pct > 55 else "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedChart:
    """A chart as inline SVG, with its data as a table."""

    id: str
    svg: Markup
    data: PlacedTable
    note: str
    marks: Sequence[PlacedMark]
    kind: Literal["chart"] = "chart"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedText:
    """A heading, a paragraph or a list, as it was said; ``on_screen_only`` is of no use on paper."""

    block: Block
    on_screen_only: bool
    kind: str


Placed = PlacedTable | PlacedChart | PlacedText


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedSection:
    """A section with its id."""

    id: str
    title: str
    blocks: Sequence[Placed]


@dataclass(slots=True)
class Placing:
    """Places sections on one page."""

    taken: set[str] = field(default_factory=set)

    def section(
        self, section: Section, folder: ResultFolder, drawn: Mapping[str, Picture] | None = None
    ) -> PlacedSection:
        """Place a section.

        Parameters
        ----------
        section : Section
        folder : ResultFolder
            Where its long tables and charts lie.
        drawn : mapping of str to Picture, optional
            Charts that are not taken from the folder, by name.
        """
        name = self.id_of(section.name)
        tables = [block for block in section.blocks if isinstance(block, Table)]
        rows = {row: self.id_of(f"row-{row}") for table in tables for row in table.row_names}
        placed = [self._placed(block, folder, drawn or {}, rows) for block in section.blocks]
        return PlacedSection(id=name, title=section.title, blocks=[one for one in placed if one is not None])

    def id_of(self, text: str) -> str:
        """Return an id made from ``text``, unique on the page: letters, digits and hyphens."""
        stem = "".join(c if c.isascii() and c.isalnum() else "-" for c in text).strip("-").lower() or "part"
        stem = stem if stem[0].isalpha() else f"n-{stem}"
        name, count = stem, 1
        while name in self.taken:
            count += 1
            name = f"{stem}-{count}"
        self.taken.add(name)
        return name

    def table(self, table: Table, rows: Mapping[str, str] | None = None) -> PlacedTable:
        """Place a table; ``rows`` gives the ids of its named rows."""
        places = [place for place, column in enumerate(table.columns) if column.only != "terminal"]
        return PlacedTable(
            id=self.id_of(table.name),
            caption=table.caption,
            columns=[table.columns[place] for place in places],
            rows=[[row[place] for place in places] for row in table.rows],
            sortable=table.sortable,
            row_ids=[(rows or {})[name] for name in table.row_names],
            total=table.total,
        )

    def _placed(
        self, block: Block, folder: ResultFolder, drawn: Mapping[str, Picture], rows: Mapping[str, str]
    ) -> Placed | None:
        """Place a block; None for what the page has elsewhere, and for a chart that was not drawn."""
        if block.only == "terminal" or isinstance(block, Cautions):
            return None
        if isinstance(block, Table):
            return self.table(block, rows)
        if isinstance(block, Chart):
            return self._chart(block, folder, drawn.get(block.picture), rows)
        if isinstance(block, Data):
            table = folder.study_table(f"{block.table}.csv")
            return None if table is None else self._as_it_is(table, block.caption, f"{block.table}.csv", folded=True)
        return PlacedText(block=block, on_screen_only=block.only == "screen", kind=type(block).__name__.lower())

    def _chart(
        self, chart: Chart, folder: ResultFolder, drawn: Picture | None, rows: Mapping[str, str]
    ) -> PlacedChart | None:
        if drawn is not None:
            svg, label = svg_of(drawn), drawn.alt
        else:
            file = folder.path / "pictures" / f"{chart.picture}.svg"
            if not file.exists():
                return None
            svg = file.read_text(encoding="utf-8")
            title = re.search(r"<dc:title>(.*?)</dc:title>", svg, re.DOTALL)
            label = _unescaped(title[1]) if title else begun(chart.picture.replace("_", " "))
        name, prefix = self.id_of(f"chart-{chart.picture}"), self.id_of("g")
        data = self._drawn(chart, folder) if chart.data is None else self.table(chart.data)
        marks = [placed for mark in chart.marks if (placed := _mark(mark, drawn, rows)) is not None]
        # The text comes from our own charts, which escape what they draw; the label is quoted.
        image = Markup(inlined(svg, prefix=prefix, label=label))  # noqa: S704
        return PlacedChart(id=name, svg=image, data=data, note=chart.note, marks=marks)

    def _drawn(self, chart: Chart, folder: ResultFolder) -> PlacedTable:
        import pandas as pd

        file = folder.path / "pictures" / f"{chart.picture}.csv"
        return self._as_it_is(pd.read_csv(file), "Data of the chart", f"pictures/{file.name}")

    def _as_it_is(self, table: pd.DataFrame, caption: str, file: str, *, folded: bool = False) -> PlacedTable:
        """Lay out a table with its columns named as in its file."""
        from pandas.api.types import is_bool_dtype, is_numeric_dtype

        numeric = [is_numeric_dtype(table[name]) and not is_bool_dtype(table[name]) for name in table.columns]
        shown = table.head(MOST_ROWS)
        left = len(table) - len(shown)
        return PlacedTable(
            id=self.id_of("table"),
            caption=f"{caption}; the other {left} rows are in {file}" if left else caption,
            columns=[
                Column(str(name).replace("_", " "), numeric=is_number)
                for name, is_number in zip(table.columns, numeric, strict=True)
            ],
            rows=[
                [
                    num(float(cell)) if is_number else Cell(NONE if cell != cell else str(cell))
                    for cell, is_number in zip(row, numeric, strict=True)
                ]
                for row in shown.itertuples(index=False, name=None)
            ],
            sortable=True,
            folded=folded,
        )


def _mark(mark: Mark, drawn: Picture | None, rows: Mapping[str, str]) -> PlacedMark | None:
    at = mark.at_pct if drawn is None else place_pct(drawn, mark.x, mark.y)
    if at is None:
        return None
    left, top = (round(part, 3) for part in at)
    return PlacedMark(left_pct=left, top_pct=top, target=rows[mark.target], name=mark.name, facts=mark.facts)


def _unescaped(text: str) -> str:
    return text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", '"').replace("&amp;", "&")
