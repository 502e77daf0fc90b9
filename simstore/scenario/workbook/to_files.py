"""A workbook as the two texts that it stands for, and the cell that each line of them comes from."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from simstore.errors import Problem, error_from
from simstore.scenario.checking.register_columns import REQUIRED
from simstore.scenario.workbook.cells import MOST_BYTES, MOST_COLUMNS, MOST_ROWS, cell_text
from simstore.scenario.workbook.layout import (
    FIRST_ROW,
    LAYERS,
    LISTED,
    NAMED,
    REGISTER,
    STORE,
    columns_of,
    from_cell,
    heading_text,
    key_text,
)

TOML_NAME: Final = "scenario.toml"
REGISTER_NAME: Final = "register.csv"
Rows = list[tuple[int, dict[str, tuple[str, Any]]]]
"""Row number, and by column the cell's name and value; empty cells are left out."""


@dataclass(slots=True)
class Texts:
    """What a workbook says.

    Attributes
    ----------
    files : dict of str to bytes
        The scenario's TOML first, then the register, if there is one.
    cells : dict of (str, int) to str
        Sheet and cell of a line of a file.
    """

    files: dict[str, bytes] = field(default_factory=dict)
    cells: dict[tuple[str, int], str] = field(default_factory=dict)


def texts_of(data: bytes, name: str) -> Texts:
    """Read a workbook as texts.

    Raises
    ------
    SimstoreError
        If it is no workbook, or has sheets or columns that are not those of a scenario.
    """
    sheets = _sheets(data, name)
    problems = list(_odd(sheets, name))
    if problems:
        raise error_from(problems, f"workbook {name}")
    writer = _Writer()
    if sheets.get(REGISTER):
        writer.line(f'register = "{REGISTER_NAME}"', f"sheet '{REGISTER}'")
    _store(writer, sheets.get(STORE, []))
    for sheet in NAMED:
        for _, row in sheets.get(sheet, []):
            _entry(writer, sheet, row)
            if sheet == "kinds":
                _layers(writer, str(row.get("name", ("", ""))[1]), sheets.get(LAYERS, []))
    for sheet in LISTED:
        for _, row in sheets.get(sheet, []):
            writer.line(f"[[{sheet}]]", _at(sheet, next(iter(row.values()))[0]))
            _cells(writer, sheet, row)
    texts = Texts({TOML_NAME: writer.text().encode()}, {(TOML_NAME, n): cell for n, cell in writer.cells.items()})
    if sheets.get(REGISTER):
        _register(texts, sheets[REGISTER])
    return texts


class _Writer:
    """Lines with the cells that they come from."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self.cells: dict[int, str] = {}

    def line(self, text: str, cell: str) -> None:
        self._lines.append(text)
        self.cells[len(self._lines)] = cell

    def text(self) -> str:
        return "\n".join(self._lines) + "\n"


def _at(sheet: str, cell: str) -> str:
    return f"sheet '{sheet}', cell {cell}"


def _sheets(data: bytes, name: str) -> dict[str, Rows]:
    """Read every sheet but those that only explain."""
    from openpyxl import load_workbook
    from openpyxl.utils import get_column_letter

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_BYTES:
                rule = f"unpacks to more than {MOST_BYTES // 1_000_000} MB"
                raise error_from(
                    [Problem(file=name, rule=rule, cure="keep only the scenario in it")], f"workbook {name}"
                )
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        found: dict[str, Rows] = {}
        for sheet in book.worksheets:
            rows: Rows = []
            header: list[str] = []
            for number, cells in enumerate(
                sheet.iter_rows(values_only=True, max_row=MOST_ROWS, max_col=MOST_COLUMNS), 1
            ):
                if number == 1:
                    header = [cell_text(cell) for cell in cells]
                elif number >= (2 if sheet.title == STORE else FIRST_ROW):
                    row = {
                        column or f"column {get_column_letter(n)}": (f"{get_column_letter(n)}{number}", cell)
                        for n, (column, cell) in enumerate(zip(header, cells, strict=False), 1)
                        if cell is not None and cell_text(cell) != ""
                    }
                    if row:
                        rows.append((number, row))
            found[sheet.title] = rows
    except (OSError, ValueError, KeyError, TypeError, zipfile.BadZipFile) as error:
        cure = "take the one that `simstore start NAME.xlsx` writes for a pattern"
        problem = Problem(file=name, rule=f"is not a workbook that can be read ({type(error).__name__})", cure=cure)
        raise error_from([problem], f"workbook {name}") from error
    return found


def _odd(sheets: Mapping[str, Rows], name: str) -> Iterator[Problem]:
    """Yield columns and names that a scenario has not."""
    if not any(sheet in sheets for sheet in (STORE, "kinds", REGISTER)):
        cure = "take the one that `simstore start NAME.xlsx` writes for a pattern"
        yield Problem(file=name, rule="has none of the sheets of a scenario", cure=cure)
    for sheet in (*NAMED, *LISTED, LAYERS, REGISTER):
        allowed = columns_of(sheet)
        told: set[str] = set()
        for _, row in sheets.get(sheet, []):
            for column in row:
                if column not in allowed and column not in told:
                    told.add(column)
                    cure = f"its columns are {', '.join(allowed[:8])}, ..."
                    yield Problem(file=name, key=f"{sheet}.{column}", rule="is not a column of this sheet", cure=cure)
            if sheet in NAMED and "name" not in row:
                place = next(iter(row.values()))[0]
                yield Problem(file=name, key=_at(sheet, place), rule="has no name", cure="fill in the first column")


def _store(writer: _Writer, rows: Rows) -> None:
    """Write what stands key by key: the top of the file first, then the tables."""
    tables: dict[str, list[tuple[str, str, Any]]] = {}
    for _, row in rows:
        if "key" not in row or "value" not in row:
            continue
        key, (cell, value) = str(row["key"][1]).strip(), row["value"]
        table, _, last = key.rpartition(".")
        tables.setdefault(table, []).append((last, cell, from_cell(value, STORE, key)))
    for table in sorted(tables, key=lambda one: (one != "", one)):
        if table:
            writer.line(f"[{heading_text(table.split('.'))}]", _at(STORE, tables[table][0][1]))
        for key, cell, value in tables[table]:
            writer.line(f"{key_text(key)} = {value}", _at(STORE, cell))


def _entry(writer: _Writer, sheet: str, row: Mapping[str, tuple[str, Any]]) -> None:
    cell, name = row["name"]
    writer.line(f"[{heading_text([sheet, cell_text(name)])}]", _at(sheet, cell))
    _cells(writer, sheet, {key: value for key, value in row.items() if key != "name"})


def _cells(writer: _Writer, sheet: str, row: Mapping[str, tuple[str, Any]]) -> None:
    for key, (cell, value) in row.items():
        writer.line(f"{key_text(key)} = {from_cell(value, sheet, key)}", _at(sheet, cell))


def _layers(writer: _Writer, kind: str, rows: Rows) -> None:
    for _, row in rows:
        if cell_text(row.get("kind", ("", ""))[1]) == kind:
            writer.line(f"[[{heading_text(['kinds', kind, LAYERS])}]]", _at(LAYERS, row["kind"][0]))
            _cells(writer, LAYERS, {key: value for key, value in row.items() if key != "kind"})


def _register(texts: Texts, rows: Rows) -> None:
    columns = [column for column in columns_of(REGISTER) if any(column in row for _, row in rows)]
    required = [column for column in REQUIRED if column not in columns]
    columns = [*required, *columns]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    for line, (number, row) in enumerate(rows, start=2):
        writer.writerow([_plain(row[column][1]) if column in row else "" for column in columns])
        texts.cells[REGISTER_NAME, line] = f"sheet '{REGISTER}', row {number}"
    texts.files[REGISTER_NAME] = out.getvalue().encode("utf-8")


def _plain(cell: Any) -> str:
    return cell_text(cell).replace("\n", " ").replace("\r", " ")


def told_by_cell(problems: Sequence[Problem], texts: Texts, name: str) -> list[Problem]:
    """Tell problems of the texts by the cells of the workbook."""
    return [
        replace(problem, file=name, cell=texts.cells.get((problem.file, problem.line or 0), ""))
        if problem.file in texts.files
        else problem
        for problem in problems
    ]
