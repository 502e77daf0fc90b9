"""Measurements in the store: packets weighed, humidity read inside; a CSV file or a sheet of a workbook."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from simstore.errors import Problem
from simstore.scenario.checking.finding import suggestion
from simstore.scenario.reading.list_rows import figure_any
from simstore.scenario.reading.plain_table import PlainTable, plain_table

COLUMNS: Final = ("enclosure", "put_in", "measured", "dry_g", "wet_g", "read_rh_pct")
"""Enclosure; day on which its gel was put in dry; day of the measurement; mass of its packets together when they were
dry and on that day; RH read inside. Either a mass or an RH is there."""
NEEDED: Final = ("enclosure", "put_in", "measured")
MOST_G: Final = 100_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One measurement of one enclosure.

    Attributes
    ----------
    enclosure : str
    put_in, measured : date
        When the gel was put in dry, and the day of the measurement.
    dry_g, wet_g : float or None
        Mass of all its packets when dry, and on the day of the measurement. [g]
    read_rh_pct : float or None
        Relative humidity inside. [%]
    line : int
        Of the file.
    """

    enclosure: str
    put_in: date
    measured: date
    dry_g: float | None
    wet_g: float | None
    read_rh_pct: float | None
    line: int


def read_measurements(data: bytes, name: str, known: Sequence[str]) -> tuple[list[Measurement], list[Problem]]:
    """Read measurements; every row that cannot be is a problem.

    Parameters
    ----------
    data, name
        As for `plain_table`.
    known : sequence of str
        Enclosures of the register.
    """
    table = plain_table(data, name)
    if isinstance(table, Problem):
        return [], [table]
    problems = list(_header_problems(table, name))
    if problems:
        return [], problems
    ids = frozenset(known)
    places = {heading: n for n, heading in enumerate(table.headings)}
    found = []
    for line, cells in zip(table.lines, table.rows, strict=True):
        row = {column: cells[places[column]] if column in places else "" for column in COLUMNS}
        one = _measurement(row, line, name, ids)
        if isinstance(one, Problem):
            problems.append(one)
        else:
            found.append(one)
    return found, problems


def _header_problems(table: PlainTable, name: str) -> Sequence[Problem]:
    unknown = [heading for heading in table.headings if heading not in COLUMNS]
    missing = [column for column in NEEDED if column not in table.headings]
    return [
        *(
            Problem(
                file=name, line=1, key=each, rule="unknown column", cure=suggestion(each, COLUMNS, known_as="columns")
            )
            for each in unknown
        ),
        *(
            Problem(file=name, line=1, key=each, rule="column is missing", cure=f"the columns are {', '.join(COLUMNS)}")
            for each in missing
        ),
    ]


def _measurement(row: Mapping[str, str], line: int, name: str, ids: frozenset[str]) -> Measurement | Problem:
    def wrong(key: str, rule: str, cure: str) -> Problem:
        return Problem(file=name, line=line, key=key, value=row[key][:60], rule=rule, cure=cure)

    if row["enclosure"] not in ids:
        return wrong("enclosure", "is not in the register", suggestion(row["enclosure"], ids, known_as="there"))
    days = {}
    for key in ("put_in", "measured"):
        try:
            days[key] = date.fromisoformat(row[key])
        except ValueError:
            return wrong(key, "is not a date", "write it as 2026-01-31")
    if days["measured"] <= days["put_in"]:
        return wrong("measured", f"is not after the day on which the gel was put in, {days['put_in']}", "correct one")
    numbers: dict[str, float | None] = {}
    for key, most in (("dry_g", MOST_G), ("wet_g", MOST_G), ("read_rh_pct", 100.0)):
        plain, unit = figure_any(row[key])
        if row[key] and (plain is None or unit not in ("", "g", "%") or not 0 < float(plain) <= most):
            return wrong(key, f"is not a number above 0, {most:g} at most", "give grams, or %RH")
        numbers[key] = None if plain is None else float(plain)
    if numbers["wet_g"] is None and numbers["read_rh_pct"] is None:
        return wrong("wet_g", "is empty, and so is read_rh_pct", "give one of them, or leave the row out")
    return Measurement(
        enclosure=row["enclosure"], put_in=days["put_in"], measured=days["measured"], dry_g=numbers["dry_g"],
        wet_g=numbers["wet_g"], read_rh_pct=numbers["read_rh_pct"], line=line,
    )  # fmt: skip
