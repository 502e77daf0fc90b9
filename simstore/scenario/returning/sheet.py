"""The sheet of a rota: its columns, and what somebody wrote into it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from simstore.errors import Problem
from simstore.scenario.checking.finding import suggestion
from simstore.scenario.reading.list_rows import figure_any, folded
from simstore.scenario.reading.measurements import MOST_G
from simstore.scenario.reading.plain_table import plain_table

EXCHANGE, READ, LOAD, UNLOAD, DELIVERY = "exchange", "read", "load oven", "unload oven", "delivery"
WORK: Final = (EXCHANGE, READ, LOAD, UNLOAD, DELIVERY)
SHEET: Final = (
    "date", "technician", "work", "subject", "place", "packet", "packets", "done", "read_rh_pct", "out_g", "remarks",
)  # fmt: skip
"""Columns: what is to be done, then what whoever did it writes down."""
PLANNED: Final = SHEET[: SHEET.index("done")]
YES: Final = frozenset({"x", "yes", "y", "ok", "done", "1", "true", "ja", "oui", "si", "s"})
NO: Final = frozenset({"", "no", "n", "0", "false", "nein", "non"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One row of the sheet.

    Attributes
    ----------
    number : int
        Line of the sheet.
    planned : date
        Day on which it was to be done.
    work, subject, packet : str
    packets : int
    done : date or None
        Day on which it was done; None for not done.
    read_rh_pct, out_g : float or None
        Humidity read, and mass of all packets taken out.
    mark : str
        What was planned, by which the row is known again.
    """

    number: int
    planned: date
    work: str
    subject: str
    packet: str
    packets: int
    done: date | None
    read_rh_pct: float | None
    out_g: float | None
    mark: str


def read_sheet(data: bytes, name: str) -> tuple[list[Line], list[Problem]]:
    """Read a sheet that was filled in, by hand or in a spreadsheet; every row that is not clear is a problem."""
    table = plain_table(data, name, may_be_empty=True)
    if isinstance(table, Problem):
        return [], [table]
    missing = [column for column in SHEET if column not in table.headings]
    if missing:
        cure = "take sheet.csv as `simstore rota` wrote it, and fill in its cells only"
        return [], [Problem(file=name, line=1, key=each, rule="column is missing", cure=cure) for each in missing]
    lines, problems = [], []
    seen: Counter[str] = Counter()
    for number, cells in zip(table.lines, table.rows, strict=True):
        row = {column: cells[list(table.headings).index(column)] for column in SHEET}
        line = _line(row, number, name)
        if isinstance(line, Problem):
            problems.append(line)
        else:
            seen[line.mark] += 1
            lines.append(replace(line, mark=f"{line.mark}|{seen[line.mark]}"))
    return lines, problems


def _line(row: dict[str, str], number: int, name: str) -> Line | Problem:
    def wrong(key: str, rule: str, cure: str) -> Problem:
        return Problem(file=name, line=number, key=key, value=row[key][:60], rule=rule, cure=cure)

    if row["work"] not in WORK:
        return wrong("work", "is no work of a sheet", suggestion(row["work"], WORK, known_as="it is one of"))
    try:
        planned = date.fromisoformat(row["date"])
    except ValueError:
        return wrong("date", "is not a date", "leave it as the rota wrote it, such as 2026-01-31")
    done = _done(row["done"], planned)
    if isinstance(done, str):
        return wrong("done", done, "write x, or the day as 2026-01-31, or leave it empty")
    if not row["packets"].isdigit() or int(row["packets"]) > 100_000:
        return wrong("packets", "is not a whole number", "leave it as the rota wrote it")
    numbers: dict[str, float | None] = {}
    for key, most in (("read_rh_pct", 100.0), ("out_g", MOST_G)):
        plain, unit = figure_any(row[key])
        if row[key] and (plain is None or unit not in ("", "g", "%", "%rh") or not 0 <= float(plain) <= most):
            return wrong(key, f"is not a number from 0 to {most:g}", "write the figure alone, or leave it empty")
        numbers[key] = None if plain is None else float(plain)
    mark = "|".join(row[column] for column in PLANNED)
    return Line(
        number=number, planned=planned, work=row["work"], subject=row["subject"], packet=row["packet"],
        packets=int(row["packets"]),
        done=done, read_rh_pct=numbers["read_rh_pct"], out_g=numbers["out_g"], mark=mark,
    )  # fmt: skip


def _done(text: str, planned: date) -> date | str | None:
    """Tell the day on which something was done, None for not done, or what is wrong with the cell."""
    if text in ("✓", "✔", "☑"):
        return planned
    word = folded(text)
    if word in NO:
        return None
    if word in YES:
        return planned
    try:
        return date.fromisoformat(text)
    except ValueError:
        return "is neither a tick nor a day"
