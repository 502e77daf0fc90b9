"""The register of enclosures: one row each, every bad cell reported with its line and column."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from pydantic import ValidationError

from simstore.errors import Problem, holds_unseen
from simstore.scenario.checking.finding import Finding, shown, suggestion
from simstore.scenario.checking.key_paths import place_of, range_text
from simstore.scenario.checking.register_columns import COLUMNS, DATES, NUMBERS, REQUIRED, VOLUMES, WHOLE
from simstore.scenario.reading.csv_rows import Row, rows_of
from simstore.scenario.reading.known import Known
from simstore.scenario.reading.list_rows import rows_of_list
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.list_form import ListForm

LITRES_PER_M3 = 1000.0
FORMULA_STARTS = ("=", "+", "-", "@")


@dataclass(slots=True)
class Register:
    """Rows that are sound, with their lines, and the problems of all others.

    ``further`` is what stands in columns that are not the register's, by id and heading; ``findings`` is what is wrong
    with the scenario's ``list``, and ``notes`` what was left out.
    """

    enclosures: list[Enclosure] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    further: dict[str, dict[str, str]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


def read_register(data: bytes, name: str, known: Known, form: ListForm | None = None) -> Register:
    """Read the register's bytes; nothing is guessed, everything wrong is listed.

    Parameters
    ----------
    data : bytes
        The file's content: CSV with the register's columns, or any list for which there is a ``form``.
    name : str
        The file's name in problems.
    known : Known
        What rows may refer to.
    form : ListForm, optional
        How to read a list that has headings of its own.
    """
    if form is None:
        rows, problems = rows_of(data, name, columns=COLUMNS, required=REQUIRED)
        register = Register(problems=problems)
    else:
        ceilings = {metal: ceiling for metal, ceiling in known.metals.items() if ceiling is not None}
        listed = rows_of_list(data, name, form, ceilings=ceilings)
        rows, problems = [_complete(row) for row in listed.rows], listed.problems
        register = Register(problems=problems, findings=listed.findings, further=listed.further, notes=listed.notes)
    first_line: dict[str, int] = {}
    for row in rows:
        cells, faults = _cells(row, name)
        enclosure = _enclosure(cells)
        if enclosure is None:
            faults.extend(_out_of_range(row, name, cells))
        faults.extend(_unknown_names(row, name, known))
        faults.extend(_slips(row, name, cells, known))
        label = row.cells.get("id", "")
        if label and label in first_line:
            cure = f"the first is in line {first_line[label]}; give each enclosure its own id"
            faults.append(Problem(file=name, line=row.line, key="id", value=label, rule="stands twice", cure=cure))
        first_line.setdefault(label, row.line)
        register.problems.extend(faults)
        if enclosure is not None and not faults and cells.keys() >= set(REQUIRED):
            register.enclosures.append(enclosure)
            register.lines.append(row.line)
    if not rows and not problems and not register.findings:
        cure = "add a row for each enclosure, or leave out `register` and use [[groups]]"
        register.problems.append(Problem(file=name, line=1, rule="has a header but no rows", cure=cure))
    register.problems.sort(key=lambda problem: problem.line or 0)
    if form is not None:
        register.problems = [_in_its_words(problem, form) for problem in register.problems]
    return register


def _complete(row: Row) -> Row:
    """Give a row of a list the cells that none may be without, so that what is missing is told."""
    return Row(row.line, {**dict.fromkeys(REQUIRED, ""), **row.cells})


def _in_its_words(problem: Problem, form: ListForm) -> Problem:
    """Tell a problem under the list's own heading, and where the scenario says what its words mean."""
    section = {"kind": "kinds", "metal": "metals", "packet": "packets"}.get(problem.key)
    cure = problem.cure
    if section is not None and problem.value:
        cure = f'say which is meant, in [list.{section}]: "{problem.value}" = "..."; {problem.cure}'
    return replace(problem, key=form.headings.get(problem.key, problem.key), cure=cure)


def _cells(row: Row, name: str) -> tuple[dict[str, Any], list[Problem]]:
    """Values of the cells that can be read, and a problem for each that cannot."""
    cells: dict[str, Any] = {}
    faults: list[Problem] = []
    for column, text in row.cells.items():
        if column not in COLUMNS:
            continue
        if text == "":
            if column in REQUIRED:
                cure = f"fill in the {column}"
                faults.append(Problem(file=name, line=row.line, key=column, rule="is empty", cure=cure))
            continue
        value = _value(column, text)
        if isinstance(value, tuple):
            rule, cure = value
            faults.append(Problem(file=name, line=row.line, key=column, value=text[:60], rule=rule, cure=cure))
        else:
            cells[column] = value
    return cells, faults


def _enclosure(cells: Mapping[str, Any]) -> Enclosure | None:
    """Make the enclosure, with stand-ins for required cells that are empty; None if a value is not allowed."""
    try:
        return Enclosure.model_validate({**dict.fromkeys(REQUIRED, "x"), **cells})
    except ValidationError:
        return None


def _value(column: str, text: str) -> str | int | float | date | tuple[str, str]:
    """Value of one cell, or what is wrong with it and the cure."""
    if column in WHOLE:
        if re.fullmatch(r"[+-]?\d{1,15}", text):
            return int(text)
        return "is not a whole number", "write digits only, such as 2"
    if column in NUMBERS:
        return _number(text)
    if column in DATES:
        return _date(text)
    if holds_unseen(text):
        return "holds a sign that is not seen, such as a control character", "type the text anew"
    if text.startswith(FORMULA_STARTS):
        return "looks like a spreadsheet formula", "write the text itself, beginning with a letter or digit"
    return text


def _number(text: str) -> float | tuple[str, str]:
    if re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", text):
        return float(text)
    if re.fullmatch(r"[+-]?\d+,\d+", text):
        return "has a decimal comma", f"write {text.replace(',', '.')}"
    if re.fullmatch(r"[+-]?[\d.,]+\s*[A-Za-z%].*", text):
        return "is not a number", "leave out the unit, it is in the column's name"
    return "is not a number", "write digits with a decimal point, such as 0.005, or leave it empty"


def _date(text: str) -> date | tuple[str, str]:
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            return "is not a day of the calendar", "check month and day"
    found = re.fullmatch(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})", text)
    if found:
        return "is not written year first", "write it as 2026-01-31; spreadsheets: format the column as text first"
    return "is not a date", "write it as 2026-01-31, or leave it empty"


def _out_of_range(row: Row, name: str, cells: Mapping[str, Any]) -> Iterator[Problem]:
    """Yield each cell whose value is readable but not allowed."""
    for column, value in cells.items():
        try:
            Enclosure.model_validate({**dict.fromkeys(REQUIRED, "x"), column: value})
        except ValidationError as error:
            kind = error.errors(include_url=False)[0]["type"]
            rule = f"must be {range_text(place_of(Enclosure, (column,)), column)}"
            cure = "correct it or leave it empty"
            if kind == "string_pattern_mismatch":
                rule, cure = (
                    "may hold letters, digits, blanks and _ . , ; : / ( ) # + & * - only, a letter or digit first",
                    "rename",
                )
            elif kind == "string_too_long":
                rule, cure = "is longer than 60 characters", "shorten it"
            elif column in VOLUMES and value > 0:
                cure = f"looks like litres; divide by 1000: {value / LITRES_PER_M3:g}"
            yield Problem(file=name, line=row.line, key=column, value=row.cells[column][:60], rule=rule, cure=cure)


def _unknown_names(row: Row, name: str, known: Known) -> Iterator[Problem]:
    """Kinds, metals and packets that the scenario does not define."""
    for column, names in (("kind", known.kinds), ("metal", known.metals), ("packet", known.packets)):
        text = row.cells.get(column, "")
        if text and not text.startswith(FORMULA_STARTS) and text not in names:
            rule = f"is not a {column} of the scenario"
            cure = suggestion(text, names, known_as=f"{column}s there")
            yield Problem(file=name, line=row.line, key=column, value=text[:60], rule=rule, cure=cure)


def _slips(row: Row, name: str, cells: Mapping[str, Any], known: Known) -> Iterator[Problem]:
    """Values that are possible numbers but cannot be meant: litres, the future, more air than space."""
    usual = known.kinds.get(row.cells.get("kind", ""))
    for column in VOLUMES:
        value = cells.get(column)
        if value is not None and usual is not None and 0 < value <= 10 and value > 100 * usual:
            rule = f"is {value / usual:.0f} times the volume of its kind, {usual:g} m3"
            cure = f"looks like litres; divide by 1000: {value / LITRES_PER_M3:g}"
            yield Problem(file=name, line=row.line, key=column, value=row.cells[column], rule=rule, cure=cure)
    volume = cells.get("volume_m3", usual)
    empty = cells.get("empty_m3")
    if empty is not None and volume is not None and volume < empty <= 100 * volume:
        rule = f"is more than the volume, {volume:g} m3"
        cure = "give the air left beside the objects, or correct the volume"
        yield Problem(file=name, line=row.line, key="empty_m3", value=row.cells["empty_m3"], rule=rule, cure=cure)
    dried = cells.get("last_regenerated")
    if dried is not None and known.start is not None and dried > known.start:
        rule = f"is after the run's first day, {known.start}"
        cure = "correct the year, or leave it empty if the gel was never dried"
        text = shown(dried)
        yield Problem(file=name, line=row.line, key="last_regenerated", value=text, rule=rule, cure=cure)
