"""A CSV file as rows with their line numbers, and what spreadsheets commonly do to one."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from simstore.errors import Problem
from simstore.scenario.checking.document import decoded
from simstore.scenario.checking.finding import shown, suggestion


class CsvReader(Protocol):
    """The part of the standard reader that is used here."""

    line_num: int

    def __iter__(self) -> Iterator[list[str]]: ...

    def __next__(self) -> list[str]: ...


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the line that it ends on and its cells, stripped, by column."""

    line: int
    cells: dict[str, str]


def rows_of(
    data: bytes, name: str, *, columns: Sequence[str], required: Sequence[str]
) -> tuple[list[Row], list[Problem]]:
    """Rows of a comma-separated file with a header, and all that is wrong with its shape.

    Parameters
    ----------
    data : bytes
        The file's content.
    name : str
        The file's name in problems.
    columns, required : sequence of str
        Column names that may and that must stand in the header.

    Returns
    -------
    list of Row
        Rows as wide as the header; blank and misshapen ones are left out and reported.
    list of Problem
        In the order of the lines.
    """
    text = decoded(data, name)
    if isinstance(text, Problem):
        return [], [text]
    if not text.strip():
        return [], [Problem(file=name, rule="is empty", cure=f"begin with the header {','.join(required)}")]
    if "\x00" in text:
        return [], [Problem(file=name, line=1, rule="holds null bytes", cure="save it as CSV UTF-8 (comma separated)")]
    header_line = text.lstrip("\r\n").splitlines()[0]
    separator = next((mark for mark in (";", "\t") if header_line.count(mark) > header_line.count(",")), None)
    if separator is not None:
        word = "semicolons" if separator == ";" else "tabs"
        cure = "save it as CSV with commas between cells and points in decimals"
        return [], [Problem(file=name, line=1, value=header_line[:60], rule=f"is separated by {word}", cure=cure)]
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        return _rows(reader, name, columns, required)
    except csv.Error as error:
        rule = f"is not a CSV row ({error})"
        return [], [Problem(file=name, line=max(reader.line_num, 1), rule=rule, cure="check the quotes in this row")]


def _rows(
    reader: CsvReader, name: str, columns: Sequence[str], required: Sequence[str]
) -> tuple[list[Row], list[Problem]]:
    header: list[str] = []
    while not any(header):
        header = [cell.strip() for cell in next(reader)]
    problems = _header_problems(header, name, reader.line_num, columns, required)
    rows: list[Row] = []
    for cells in reader:
        line = reader.line_num
        stripped = [cell.strip() for cell in cells]
        if not any(stripped):
            problems.append(Problem(file=name, line=line, rule="is a blank row", cure="delete it"))
        elif len(stripped) != len(header):
            rule = f"has {len(stripped)} cells, the header has {len(header)}"
            cure = "write decimals with a point and quote text that holds a comma" if len(cells) > len(header) else ""
            problems.append(
                Problem(
                    file=name, line=line, value=",".join(cells)[:60], rule=rule, cure=cure or "add the missing commas"
                )
            )
        else:
            rows.append(Row(line, dict(zip(header, stripped, strict=True))))
    return rows, problems


def _header_problems(
    header: list[str], name: str, line: int, columns: Sequence[str], required: Sequence[str]
) -> list[Problem]:
    problems = []
    for position, column in enumerate(header):
        if column in header[:position]:
            problems.append(
                Problem(file=name, line=line, key=column, rule="stands twice in the header", cure="keep one column")
            )
        elif column not in columns:
            free = [c for c in columns if c not in header]
            problems.append(
                Problem(
                    file=name,
                    line=line,
                    key=column,
                    value="" if column else shown(column),
                    rule="unknown column" if column else "column without a name",
                    cure=suggestion(column, free, known_as="columns"),
                )
            )
    problems.extend(
        Problem(file=name, line=line, key=column, rule="column is missing", cure="add it to the header and every row")
        for column in required
        if column not in header
    )
    return problems
