"""Writes a scenario as a workbook: drop-down lists, units and limits under each heading, a remark at each."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from simstore.scenario.checking.register_columns import DATES, NUMBERS, WHOLE
from simstore.scenario.workbook.layout import (
    FIRST_ROW,
    LAYERS,
    LISTED,
    NAMED,
    READ_ME,
    REGISTER,
    STORE,
    STORE_COLUMNS,
    allowed_in,
    choices_of,
    columns_of,
    meaning_of,
    to_cell,
)

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

NAMES_FROM: Final = {
    (REGISTER, "kind"): "kinds", (REGISTER, "metal"): "metals", (REGISTER, "packet"): "packets",
    (LAYERS, "kind"): "kinds", (LAYERS, "film"): "films", ("kinds", "packet"): "packets",
    ("packets", "sorbent"): "sorbents",
    ("plans", "programme"): "programmes", ("plans", "indicator"): "indicators", ("groups", "kind"): "kinds",
    ("groups", "metal"): "metals", ("arrivals", "kind"): "kinds", ("arrivals", "metal"): "metals",
    ("visits", "metal"): "metals", ("stock", "name"): "packets",
}  # fmt: skip
"""Columns that take the name of an entry of another sheet."""
LAST_ROW: Final = 2000
WORDS: Final = (
    "A scenario of simstore. Every command takes it in the place of a folder, such as simstore check NAME.xlsx",
    "Each sheet is a part of the store. The first row names the columns, the second says units and what is allowed;",
    "point at a heading to read what it means. From the third row on, one row is one thing. Empty: as is usual.",
    "Sheet 'store' is the other way round: one key in each row.",
    "Several values stand in one cell with semicolons: Tue 09:00-12:30; Thu 13:00-16:30",
    "Days are dates, or text such as 2026-01-31; a time away is 2026-08-03 to 2026-08-14.",
    "Different figures for each metal stand in braces: { iron = 8, copper = 26 }",
)


def workbook_of(document: Mapping[str, Any], register: bytes | None) -> bytes:
    """Write a workbook.

    Parameters
    ----------
    document : mapping
        What scenario.toml says, nothing merged in.
    register : bytes, optional
        The register, CSV with the columns of simstore.
    """
    from openpyxl import Workbook

    book = Workbook()
    front = book.active
    assert front is not None
    front.title = READ_ME
    for n, line in enumerate(WORDS, 1):
        front.cell(n, 1, line)
    front.column_dimensions["A"].width = 120
    _write_store(book.create_sheet(STORE), list(_store_rows(document)))
    for sheet in NAMED:
        entries = document.get(sheet, {})
        rows = [
            {"name": name, **{key: to_cell(part) for key, part in entry.items() if (sheet, key) != ("kinds", LAYERS)}}
            for name, entry in entries.items()
        ]
        _write_rows(book.create_sheet(sheet), sheet, rows)
        if sheet == "kinds":
            layers = [
                {"kind": name, **{key: to_cell(part) for key, part in layer.items()}}
                for name, entry in entries.items()
                for layer in entry.get(LAYERS, ())
            ]
            _write_rows(book.create_sheet(LAYERS), LAYERS, layers)
    for sheet in LISTED:
        rows = [{key: to_cell(part) for key, part in entry.items()} for entry in document.get(sheet, ())]
        _write_rows(book.create_sheet(sheet), sheet, rows)
    _write_rows(book.create_sheet(REGISTER), REGISTER, list(_register_rows(register)))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _store_rows(document: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Yield what has no sheet of its own, key by key."""
    for key, value in document.items():
        if key in (*NAMED, *LISTED, "register"):
            continue
        if isinstance(value, dict) and key in ("climate", "tasks", "prices"):
            yield from ((f"{key}.{inner}", to_cell(part)) for inner, part in value.items())
        else:
            yield key, to_cell(value)


def _write_store(sheet: Worksheet, rows: Sequence[tuple[str, Any]]) -> None:
    from openpyxl.styles import Alignment

    _heads(sheet, list(STORE_COLUMNS))
    for n, (key, value) in enumerate(rows, 2):
        sheet.cell(n, 1, key)
        _put(sheet, n, 2, value)
        sheet.cell(n, 2).alignment = Alignment(horizontal="left", wrap_text=True, vertical="top")
        sheet.cell(n, 3, allowed_in(STORE, key))
        sheet.cell(n, 4, meaning_of(STORE, key)).alignment = Alignment(wrap_text=True, vertical="top")
        choices = choices_of(STORE, key)
        if choices:
            _offer(sheet, f"B{n}", f'"{",".join(choices)}"')
    for letter, width in zip("ABCD", (28, 40, 22, 80), strict=True):
        sheet.column_dimensions[letter].width = width


def _write_rows(sheet: Worksheet, name: str, rows: Sequence[Mapping[str, Any]]) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    columns = columns_of(name)
    _heads(sheet, columns)
    for n, column in enumerate(columns, 1):
        letter = get_column_letter(n)
        hint = sheet.cell(2, n, allowed_in(name, column) or None)
        hint.font = Font(italic=True, color="6F7780")
        meaning = "name by which others call it" if column == "name" else meaning_of(name, column)
        if meaning:
            sheet.cell(1, n).comment = Comment(meaning, "simstore")
        sheet.column_dimensions[letter].width = max(12, min(len(column) + 3, 30))
        listed, choices = NAMES_FROM.get((name, column)), choices_of(name, column)
        cells = f"{letter}{FIRST_ROW}:{letter}{LAST_ROW}"
        if listed:
            _offer(sheet, cells, f"={listed}!$A${FIRST_ROW}:$A$200", strict=False)
        elif choices:
            _offer(sheet, cells, f'"{",".join(choices)}"')
    for n, row in enumerate(rows, FIRST_ROW):
        for column, value in row.items():
            _put(sheet, n, columns.index(column) + 1, value)


def _heads(sheet: Worksheet, columns: Sequence[str]) -> None:
    from openpyxl.styles import Font, PatternFill

    for n, column in enumerate(columns, 1):
        cell = sheet.cell(1, n, column)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="EEF2F4")
    sheet.page_setup.orientation, sheet.page_setup.fitToHeight = "landscape", 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.freeze_panes = "B2" if sheet.title == STORE else f"B{FIRST_ROW}"


def _put(sheet: Worksheet, row: int, column: int, value: Any) -> None:
    """Write a value; a text never becomes a formula."""
    cell = sheet.cell(row, column)
    if isinstance(value, str):
        cell.value = value
        cell.data_type = "s"
    else:
        cell.value = value
        if isinstance(value, date):
            cell.number_format = "yyyy-mm-dd"


def _offer(sheet: Worksheet, cells: str, formula: str, *, strict: bool = True) -> None:
    """Give cells a drop-down list."""
    from openpyxl.worksheet.datavalidation import DataValidation

    offer = DataValidation(type="list", formula1=formula, allow_blank=True, showErrorMessage=strict)
    sheet.add_data_validation(offer)
    offer.add(cells)


def _register_rows(register: bytes | None) -> Iterator[dict[str, Any]]:
    if register is None:
        return
    for row in csv.DictReader(io.StringIO(register.decode("utf-8-sig"), newline="")):
        yield {column: _typed(column, text) for column, text in row.items() if text}


def _typed(column: str, text: str) -> Any:
    """Give a cell of the register its type, so that a spreadsheet can reckon with it."""
    if column in DATES:
        return date.fromisoformat(text)
    if column in WHOLE:
        return int(text)
    return float(text) if column in NUMBERS else text
