"""What a comparison, sweep, search, stress test or sensitivity study adds: its words, charts and tables."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from simstore.prose.phrases import MINUS, begun, counted
from simstore.report.charts.save import file_part
from simstore.report.page.figures import inlined
from simstore.report.page.find import find_blocks
from simstore.report.page.parts import Block, Cell, Figure, Head, Names, Section, Table, Text, num
from simstore.report.page.study_tables import LAID_OUT
from simstore.results.reading import ResultFolder

if TYPE_CHECKING:
    import pandas as pd

TITLES: Final = {
    "find": "How the plan was found, and what one more of something buys",
    "sweep": "What more cost or work buys",
    "compare": "Side by side, under the same luck",
    "stress": "When something goes wrong",
    "sensitivity": "What to measure first",
}
"""Headings by command, in the order of the page."""
TABLES: Final = {
    "compare": (
        ("inputs", "Inputs that differ"),
        ("differences", "Paired differences, with intervals that hold together"),
        ("changeover", "What each plan starts with and wears out"),
        ("years", "Money year by year"),
    ),
    "sweep": (("points", "Every point of the grid"),),
    "find": (("find_candidates", "Every plan of the search"),),
    "stress": (("stresses", "What goes wrong"), ("losses", "What it costs in held share")),
    "sensitivity": (
        ("inputs", "Inputs that are uncertain"),
        ("effects", "How far each moves the result"),
        ("knowing", "What knowing it is worth"),
        ("screening", "Screening of all inputs together"),
    ),
}
"""Tables that each command may have written, with their captions."""
_HYPHEN_MINUS: Final = re.compile(r"(?<![\w.:-])-(?=[\d.])")
"""The sign of a negative number as the terminal has it; not the dash in a date, a time span or a name."""
MOST_STRESSED: Final = 2
"""Charts of metal classes under stress on the page, so that it stays small enough for an e-mail."""
MOST_ROWS: Final = 60
"""Rows of a table on the page; its file has all."""


def study_section(folder: ResultFolder, names: Names, tradeoff: Sequence[Block]) -> Section | None:
    """Lay out a study; None for a folder of plain runs.

    Parameters
    ----------
    folder : ResultFolder
    names : Names
    tradeoff : sequence of Block
        Its plans by cost and held share, where there are some to choose from.
    """
    if folder.command not in TITLES:
        return None
    answer = folder.path / "answer.txt"
    blocks: list[Block] = [*prose_of(answer.read_text(encoding="utf-8"))] if answer.exists() else []
    if folder.command == "find":
        blocks += find_blocks(folder, names)
    blocks += tradeoff
    # Charts whose plans can be pointed at are drawn anew.
    pictures = sorted((folder.path / "pictures").glob("*.svg"))
    anew = ("tradeoff", "what_more_buys") if tradeoff or folder.command == "find" else ()
    drawn = [picture for picture in pictures if not picture.stem.startswith(anew)]
    if folder.command == "stress" and len(drawn) > MOST_STRESSED:
        left = len(drawn) - MOST_STRESSED
        drawn = _hardest_hit(folder, drawn)[:MOST_STRESSED]
        said = f"The charts of {counted(left, 'metal class', 'metal classes')} less hit are in the folder of the study."
        blocks.append(Text(text=said))
    blocks += [_figure(picture, folder.command, names) for picture in drawn]
    for name, caption in TABLES[folder.command]:
        table = folder.study_table(f"{name}.csv")
        if table is not None and name in LAID_OUT:
            blocks.append(LAID_OUT[name](folder, table, names))
        elif table is not None:
            blocks.append(_table(table, f"{folder.command}-{name}", caption, f"{name}.csv", names, folded=True))
    return Section(id=names.of(folder.command), title=TITLES[folder.command], blocks=blocks) if blocks else None


def _hardest_hit(folder: ResultFolder, pictures: list[Path]) -> list[Path]:
    """Order the charts of a stress test by what their metal class loses at most, the most first."""
    losses = folder.study_table("losses.csv")
    if losses is None:
        return pictures
    lost = {
        f"under_stress_{file_part(str(m))}": float(rows["held_points"].min()) for m, rows in losses.groupby("metal")
    }
    return sorted(pictures, key=lambda picture: (lost.get(picture.stem, 0.0), picture.stem))


def prose_of(words: str) -> list[Text]:
    """Take the sentences out of what the terminal shows: no tables, no lists, and no cautions, which the page has.

    Negative numbers get a true minus sign.
    """
    paragraphs = [part.splitlines() for part in re.split(r"\n\s*\n", words.strip())]
    return [
        Text(text=_HYPHEN_MINUS.sub(MINUS, begun(" ".join(line.strip() for line in lines))))
        for lines in paragraphs
        if not any(re.search(r"\S {2,}\S|^\s+[-*] ", line) for line in lines)
        and not lines[0].startswith(("Cautions", "Results"))
        and lines[-1].rstrip().endswith((".", "!", "?", ":"))
    ]


def _figure(picture: Path, command: str, names: Names) -> Figure:
    import pandas as pd

    svg = picture.read_text(encoding="utf-8")
    title = re.search(r"<dc:title>(.*?)</dc:title>", svg, re.DOTALL)
    label = _unescaped(title[1]) if title else begun(picture.stem.replace("_", " "))
    name = names.of(f"chart-{command}-{picture.stem}")
    data = picture.with_suffix(".csv")
    table = pd.read_csv(data) if data.exists() else pd.DataFrame({"chart": [label]})
    shown = _table(table, f"data-{command}-{picture.stem}", "Data of the chart", f"pictures/{data.name}", names)
    return Figure(id=name, svg=inlined(svg, names, label=label), data=shown)


def _unescaped(text: str) -> str:
    return text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", '"').replace("&amp;", "&")


def _table(table: pd.DataFrame, stem: str, caption: str, file: str, names: Names, *, folded: bool = False) -> Table:
    """Lay out a table as it is, columns named as in its file."""
    from pandas.api.types import is_bool_dtype, is_numeric_dtype

    numeric = [is_numeric_dtype(table[name]) and not is_bool_dtype(table[name]) for name in table.columns]
    shown = table.head(MOST_ROWS)
    rows = [
        [
            num(float(cell)) if is_number else Cell("–" if cell != cell else str(cell))
            for cell, is_number in zip(row, numeric, strict=True)
        ]
        for row in shown.itertuples(index=False, name=None)
    ]
    left = len(table) - len(shown)
    return Table(
        id=names.of(stem),
        caption=f"{caption}; the other {left} rows are in {file}" if left else caption,
        heads=[
            Head(str(name).replace("_", " "), numeric=is_number)
            for name, is_number in zip(table.columns, numeric, strict=True)
        ],
        rows=rows,
        sortable=True,
        folded=folded,
    )
