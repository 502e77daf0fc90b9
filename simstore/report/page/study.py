"""What a comparison, sweep, search, stress test or sensitivity study adds: its own words, charts and tables."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from simstore.errors import SimstoreError
from simstore.prose import blocks as said
from simstore.prose.phrases import NONE, begun
from simstore.report.page.figures import inlined
from simstore.report.page.parts import (
    Block,
    Cell,
    Figure,
    Head,
    Mark,
    Names,
    Points,
    Section,
    Subhead,
    Table,
    Text,
    num,
)
from simstore.results.reading import ResultFolder

if TYPE_CHECKING:
    import pandas as pd

ORDER: Final = ("find", "sweep", "compare", "stress", "sensitivity")
"""Studies on the page; others come after them."""
MOST_ROWS: Final = 60
"""Rows of a table on the page; its file has all."""


def study_section(folder: ResultFolder, names: Names, tradeoff: Sequence[Block]) -> Section:
    """Lay out the answer of a study.

    Parameters
    ----------
    folder : ResultFolder
    names : Names
    tradeoff : sequence of Block
        Its plans by cost and held share, where there are some to choose from; before its charts and long tables.

    Raises
    ------
    SimstoreError
        If there is no answer as this version writes it.
    """
    try:
        found = said.said_of(folder.document("answer.json") or {})
    except (KeyError, TypeError, ValueError) as error:
        msg = f"{folder.path / 'answer.json'}: is not an answer as this version writes it; run the study again"
        raise SimstoreError(msg) from error
    shown = [block for block in found.blocks if block.only != "terminal"]
    first = next((n for n, block in enumerate(shown) if isinstance(block, said.Cautions)), len(shown))
    rows = {
        name: names.of(f"row-{name}") for block in shown if isinstance(block, said.Table) for name in block.row_names
    }
    laid = [_placed(block, folder, names, rows) for block in shown]
    before, after = ([block for block in part if block is not None] for part in (laid[:first], laid[first:]))
    return Section(id=names.of(folder.command), title=found.title, blocks=[*before, *tradeoff, *after])


def _placed(block: said.Block, folder: ResultFolder, names: Names, rows: dict[str, str]) -> Block | None:
    """Make a block part of the page; None for what the page has elsewhere, and for a chart that was not drawn."""
    if isinstance(block, said.Paragraph):
        return Text(text=begun(block.text))
    if isinstance(block, said.Heading):
        return Subhead(text=block.text)
    if isinstance(block, said.Points):
        return Points(points=block.points)
    if isinstance(block, said.Table):
        return _table(block, names, rows)
    if isinstance(block, said.Data):
        return _data(folder, block, names)
    if isinstance(block, said.Chart):
        return _figure(folder.path / "pictures" / f"{block.picture}.svg", block, names, rows)
    return None


def _table(table: said.Table, names: Names, rows: dict[str, str]) -> Table:
    places = [place for place, column in enumerate(table.columns) if column.only != "terminal"]
    columns = [table.columns[place] for place in places]
    return Table(
        id=names.of("table"),
        caption=table.caption,
        heads=[Head(begun(column.text), column.unit, column.numeric) for column in columns],
        rows=[[Cell(row[place].text, row[place].key, row[place].tone) for place in places] for row in table.rows],
        sortable=table.sortable,
        row_ids=[rows[name] for name in table.row_names],
        last_is_sum=table.total,
    )


def _figure(picture: Path, chart: said.Chart, names: Names, rows: dict[str, str]) -> Figure | None:
    import pandas as pd

    if not picture.exists():
        return None
    svg = picture.read_text(encoding="utf-8")
    title = re.search(r"<dc:title>(.*?)</dc:title>", svg, re.DOTALL)
    label = _unescaped(title[1]) if title else begun(picture.stem.replace("_", " "))
    if chart.data is not None:
        data = _table(chart.data, names, rows)
    else:
        file = picture.with_suffix(".csv")
        data = _as_it_is(pd.read_csv(file), "Data of the chart", f"pictures/{file.name}", names)
    marks = [
        Mark(
            left_pct=round(mark.at_pct[0], 3),
            top_pct=round(mark.at_pct[1], 3),
            target=rows[mark.target],
            name=mark.name,
            facts=mark.facts,
            side="left" if mark.at_pct[0] > 55 else "right",
        )
        for mark in chart.marks
        if mark.at_pct is not None
    ]
    name = names.of(f"chart-{picture.stem}")
    return Figure(id=name, svg=inlined(svg, names, label=label), data=data, marks=marks, note=chart.note)


def _unescaped(text: str) -> str:
    return text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", '"').replace("&amp;", "&")


def _data(folder: ResultFolder, data: said.Data, names: Names) -> Table | None:
    table = folder.study_table(f"{data.table}.csv")
    return None if table is None else _as_it_is(table, data.caption, f"{data.table}.csv", names, folded=True)


def _as_it_is(table: pd.DataFrame, caption: str, file: str, names: Names, *, folded: bool = False) -> Table:
    """Lay out a table with its columns named as in its file."""
    from pandas.api.types import is_bool_dtype, is_numeric_dtype

    numeric = [is_numeric_dtype(table[name]) and not is_bool_dtype(table[name]) for name in table.columns]
    shown = table.head(MOST_ROWS)
    rows = [
        [
            num(float(cell)) if is_number else Cell(NONE if cell != cell else str(cell))
            for cell, is_number in zip(row, numeric, strict=True)
        ]
        for row in shown.itertuples(index=False, name=None)
    ]
    left = len(table) - len(shown)
    return Table(
        id=names.of("data"),
        caption=f"{caption}; the other {left} rows are in {file}" if left else caption,
        heads=[
            Head(str(name).replace("_", " "), numeric=is_number)
            for name, is_number in zip(table.columns, numeric, strict=True)
        ],
        rows=rows,
        sortable=True,
        folded=folded,
    )
