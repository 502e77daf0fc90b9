"""A list as people keep it: a CSV file of any sort, or a sheet of a workbook, as cells of text with their lines."""

from __future__ import annotations

import codecs
import csv
import io
import statistics
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from simstore.errors import Problem
from simstore.scenario.workbook.cells import MOST_BYTES, MOST_COLUMNS, MOST_ROWS, cell_text

SEPARATORS: Final = (",", ";", "\t", "|")
LOOKED_AT: Final = 20
"""The header is among so many first rows."""
NOTES: Final = {
    "utf-16": "read as UTF-16",
    "cp1252": "not UTF-8, read as Windows-1252: look at letters with accents",
}
WORKBOOK_START: Final = b"PK\x03\x04"
OLD_WORKBOOK_START: Final = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, slots=True)
class PlainTable:
    """Headings and cells.

    Attributes
    ----------
    headings : sequence of str
        As they stand; empty for a column without one.
    lines : sequence of int
        Line of each row in the file, counted from 1.
    rows : sequence of sequence of str
        Cells, stripped, as many as there are headings.
    note : str
        What was odd about the file and has been dealt with.
    """

    headings: Sequence[str]
    lines: Sequence[int]
    rows: Sequence[Sequence[str]]
    note: str = ""


def plain_table(
    data: bytes, name: str, *, sheet: str | None = None, may_be_empty: bool = False
) -> PlainTable | Problem:
    """Read a list; blank rows and rows above the header are left out.

    Parameters
    ----------
    data : bytes
        CSV with commas, semicolons, tabs or bars, in UTF-8, UTF-16 or Windows-1252; or an xlsx workbook.
    name : str
        The file's name in problems.
    sheet : str, optional
        Sheet of a workbook; the first by default.
    may_be_empty : bool
        Whether a header without rows is in order.
    """
    if len(data) > MOST_BYTES:
        return Problem(file=name, rule=f"is larger than {MOST_BYTES // 1_000_000} MB", cure="split it")
    if data.startswith(OLD_WORKBOOK_START):
        return Problem(file=name, rule="is a workbook of an old sort", cure="save it as xlsx or as CSV")
    if data.startswith(WORKBOOK_START):
        found = _sheet_rows(data, name, sheet)
        note = ""
    else:
        text, encoding = text_of(data)
        note = NOTES.get(encoding, "")
        if "\x00" in text:
            return Problem(file=name, line=1, rule="holds null bytes", cure="save it as CSV UTF-8")
        found = _csv_rows(text, name)
    return found if isinstance(found, Problem) else _with_header(found, name, note, may_be_empty)


def text_of(data: bytes) -> tuple[str, str]:
    """Read text in whichever of the usual encodings it is; return it with the encoding's name."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace"), "utf-16"
    try:
        return data.decode("utf-8-sig"), "utf-8-sig" if data.startswith(codecs.BOM_UTF8) else "utf-8"
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace"), "cp1252"


def _csv_rows(text: str, name: str) -> list[tuple[int, list[str]]] | Problem:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator_of(text), strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            rows.append((reader.line_num, [cell.strip() for cell in cells]))
            if len(rows) > MOST_ROWS or len(cells) > MOST_COLUMNS:
                return _too_large(name)
    except csv.Error as error:
        rule = f"is not a CSV row ({error})"
        return Problem(file=name, line=max(reader.line_num, 1), rule=rule, cure="check the quotes in this row")
    return rows


def separator_of(text: str) -> str:
    """Find the sign that most lines have most of."""
    head = [line for line in text.splitlines()[: 2 * LOOKED_AT] if line.strip()]
    return max(SEPARATORS, key=lambda mark: statistics.median(line.count(mark) for line in head) if head else 0)


def _sheet_rows(data: bytes, name: str, sheet: str | None) -> list[tuple[int, list[str]]] | Problem:
    from openpyxl import load_workbook

    broken = Problem(file=name, rule="is not a workbook that can be read", cure="save it as xlsx anew, or as CSV")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_BYTES:
                return _too_large(name)
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        names = list(book.sheetnames)
        if sheet is not None and sheet not in names:
            return Problem(
                file=name, key="list.sheet", value=sheet, rule="is no sheet of it", cure=f"it has {', '.join(names)}"
            )
        rows: list[tuple[int, list[str]]] = []
        for number, cells in enumerate(book[sheet or names[0]].iter_rows(values_only=True), start=1):
            if number > MOST_ROWS or len(cells) > MOST_COLUMNS:
                return _too_large(name)
            rows.append((number, [cell_text(cell) for cell in cells]))
    except Exception:
        return broken
    return rows


def _too_large(name: str) -> Problem:
    rule = f"has over {MOST_ROWS} rows or {MOST_COLUMNS} columns, or unpacks to over {MOST_BYTES // 1_000_000} MB"
    return Problem(file=name, rule=rule, cure="keep only the list in it")


def _with_header(rows: list[tuple[int, list[str]]], name: str, note: str, may_be_empty: bool) -> PlainTable | Problem:
    """Find the header, the first row that is about as wide as the table, and lay the rest under it."""
    filled = [(line, cells) for line, cells in rows if any(cells)]
    if not filled:
        return Problem(file=name, rule="is empty", cure="give a list with a header and a row for each enclosure")
    widths = Counter(_width(cells) for _, cells in filled)
    usual = max(widths, key=lambda width: (widths[width], width))
    at = next((n for n, (_, cells) in enumerate(filled[:LOOKED_AT]) if _is_header(cells, usual)), 0)
    headings = filled[at][1][: _width(filled[at][1])]
    below = filled[at + 1 :]
    too_wide = next(((line, cells) for line, cells in below if _width(cells) > len(headings)), None)
    if too_wide is not None:
        line, cells = too_wide
        rule = f"has {_width(cells)} cells, the header in line {filled[at][0]} has {len(headings)}"
        cure = "quote text that holds the separator, or give every column a heading"
        return Problem(file=name, line=line, value=" | ".join(cells)[:60], rule=rule, cure=cure)
    if not below and not may_be_empty:
        return Problem(
            file=name, line=filled[at][0], rule="has a header but no rows", cure="add a row for each enclosure"
        )
    padded = [[*cells, *[""] * len(headings)][: len(headings)] for _, cells in below]
    return PlainTable(headings, [line for line, _ in below], padded, note)


def _is_header(cells: Sequence[str], usual: int) -> bool:
    words = [cell for cell in cells if cell]
    return len(words) >= max(2, usual // 2) and not any(_is_figure(cell) for cell in words)


def _is_figure(text: str) -> bool:
    return text.replace(".", "").replace(",", "").replace("-", "").isdigit()


def _width(cells: Sequence[str]) -> int:
    """Cells up to the last one that is filled."""
    return max((n for n, cell in enumerate(cells, start=1) if cell), default=0)


def heading_names(headings: Sequence[str]) -> Iterator[str]:
    """Yield headings that stand once only; another one of the same name is told by its place."""
    seen: Counter[str] = Counter()
    for heading in headings:
        seen[heading] += 1
        yield heading if seen[heading] == 1 else f"{heading} ({seen[heading]})"
