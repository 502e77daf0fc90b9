"""Blocks as lines of text for the terminal: at most 80 letters, columns aligned, plain signs and spaces."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Final

from simstore.prose.blocks import Block, Cautions, Cell, Heading, Paragraph, Points, Table
from simstore.prose.phrases import MINUS, NBSP, NONE

WIDTH: Final = 80
INDENT: Final = "  "
_PLAIN: Final = str.maketrans({NBSP: " ", MINUS: "-"})


def text_of(blocks: Iterable[Block]) -> str:
    """Lay out blocks in lines, with an empty line between those that do not belong together."""
    text = ""
    for block in blocks:
        if block.only in ("", "terminal"):
            gap = "" if not text else "\n" if block.close else "\n\n"
            text += gap + _laid(block)
    return f"{text}\n"


def plain(text: str) -> str:
    """Write signs and spaces as every terminal has them."""
    return "-" if text == NONE else text.translate(_PLAIN)


def _laid(block: Block) -> str:
    if isinstance(block, Table):
        return _aligned(block)
    if isinstance(block, Points):
        return _listed(block)
    if isinstance(block, Cautions):
        return "\n".join(["Cautions", _listed(block)])
    if isinstance(block, Heading | Paragraph):
        return _wrapped(block.text)
    return ""


def _listed(block: Points | Cautions) -> str:
    points = (f"{lead} {text}".strip() for lead, text in block.points)
    return "\n".join(_wrapped(point, first=f"{INDENT}- ", then=INDENT * 2) for point in points)


def _wrapped(text: str, first: str = "", then: str = "") -> str:
    return textwrap.fill(plain(text), WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)


def _aligned(table: Table) -> str:
    """Lay out columns: the first to the left, the others to the right, an unnamed last one to the left."""
    shown = [place for place, column in enumerate(table.columns) if column.only in ("", "terminal")]
    columns = [table.columns[place] for place in shown]
    heads = [column.text if column.short is None else column.short for column in columns]
    rows = [[_short(row[place]) for place in shown] for row in table.rows]
    indent = INDENT if table.indented else ""
    rows = [heads, *([f"{indent}{row[0]}", *row[1:]] for row in rows)]
    laid = [[cut(plain(cell), column.most) for cell, column in zip(row, columns, strict=True)] for row in rows]
    widths = [max(len(row[place]) for row in laid) for place in range(len(heads))]
    wraps = columns[-1].wraps
    tail = len(widths) - 1 if heads[-1] == "" or wraps else len(widths)
    lines = []
    for row in laid:
        cells = [
            cell.ljust(width) if place == 0 or place >= tail else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        if wraps:
            before = "".join(f"{cell}  " for cell in cells[:-1])
            lines.append(_wrapped(row[-1], first=before, then=" " * len(before)))
        else:
            lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def _short(cell: Cell) -> str:
    return cell.text if cell.short is None else cell.short


def cut(text: str, most: int) -> str:
    """Cut a text to so many letters; 0 for all."""
    return text if not most or len(text) <= most else f"{text[: most - 3]}..."
