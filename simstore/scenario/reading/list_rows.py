"""Rows of a list as rows of the register: headings, units, dates and words turned into those of simstore."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fnmatch import fnmatchcase
from typing import Final

from simstore.errors import Problem, visible
from simstore.scenario.checking.finding import Finding, suggestion
from simstore.scenario.checking.register_columns import COLUMNS, NUMBERS, VOLUMES, WHOLE
from simstore.scenario.reading.csv_rows import Row
from simstore.scenario.reading.plain_table import heading_names, plain_table
from simstore.scenario.values.list_form import ListForm
from simstore.units import HOURS_PER_DAY

TOTALS: Final = ("total", "totals", "sum", "summe", "gesamt", "somme", "suma")
"""First words of a row that adds up the others."""
PER_M3: Final = {"m3": 1.0, "l": 1e3, "ml": 1e6, "cm3": 1e6}
UNIT_WORDS: Final = {
    "l": "l", "lt": "l", "ltr": "l", "litre": "l", "litres": "l", "liter": "l", "liters": "l", "litro": "l",
    "litros": "l", "dm3": "l", "ml": "ml", "cm3": "cm3", "ccm": "cm3", "cc": "cm3", "m3": "m3",
}  # fmt: skip
_DATE: Final = re.compile(r"(\d{1,4})[./\- ](\d{1,2})[./\- ](\d{1,4})(?:[ T]\d{1,2}:\d{2}(?::\d{2})?)?")
CENTURY: Final = 2000
MONTHS: Final = (
    ("jan", "ene"), ("feb", "fev"), ("mar", "maerz"), ("apr", "avr", "abr"), ("may", "mai"), ("jun", "juin"),
    ("jul", "juil"), ("aug", "aou", "ago"), ("sep",), ("oct", "okt"), ("nov",), ("dec", "dez", "dic"),
)  # fmt: skip
"""How months begin in English, German, French and Spanish."""


@dataclass(slots=True)
class Listed:
    """What came of a list.

    Attributes
    ----------
    rows : list of Row
        With the register's columns, in its units.
    further : dict of str to dict
        What stands in other columns, by id and heading.
    problems : list of Problem
    findings : list of Finding
        What is wrong with the form, by its key in the scenario.
    notes : list of str
        Rows that are left out, and how the file was read.
    """

    rows: list[Row] = field(default_factory=list)
    further: dict[str, dict[str, str]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def rows_of_list(data: bytes, name: str, form: ListForm, *, ceilings: Mapping[str, float]) -> Listed:
    """Read a list by its form.

    Parameters
    ----------
    data, name
        As for `plain_table`.
    form : ListForm
    ceilings : mapping of str to float
        Ceiling of each metal class; a box with finds of several has the lowest. [%RH]
    """
    found = Listed()
    table = plain_table(data, name, sheet=form.sheet)
    if isinstance(table, Problem):
        found.problems.append(table)
        return found
    headings = list(heading_names(table.headings))
    places = dict(_places(form, headings, found))
    if found.findings:
        return found
    others = {n: heading for n, heading in enumerate(headings) if n not in places.values() and heading}
    words = {"kind": form.kinds, "metal": form.metals, "packet": form.packets}
    if table.note:
        found.notes.append(f"{name}: {table.note}")
    named = [places[column] for column in ("id", "kind", "metal") if column in places]
    for line, cells in zip(table.lines, table.rows, strict=True):
        if not any(cells[n] for n in named) or folded(next(filter(None, cells))) in TOTALS:
            found.notes.append(
                f"{name}:{line}: names no enclosure and is left out: {' | '.join(filter(None, cells))[:60]}"
            )
            continue
        own = dict(form.all_rows)
        own |= {column: cells[n] for column, n in places.items() if cells[n] or column not in own}
        row = Row(line, {column: _canonical(column, text, form, words) for column, text in own.items()})
        found.rows.append(row)
        if own.get("id"):
            kept = found.further.setdefault(own["id"], {})
            for n, heading in others.items():
                if cells[n]:
                    said = [*filter(None, [kept.get(heading)]), visible(cells[n])]
                    kept[heading] = "; ".join(dict.fromkeys(said))
    if form.rows == "finds":
        found.rows = list(_housed_together(found, name, ceilings))
    return found


def _places(form: ListForm, headings: Sequence[str], found: Listed) -> Iterator[tuple[str, int]]:
    """Yield the place of each column in the list; what does not fit is a finding."""
    for column, heading in form.headings.items():
        path = ("list", "headings", column)
        if column not in COLUMNS:
            cure = suggestion(column, COLUMNS, known_as="columns of the register")
            found.findings.append(Finding(path=path, value=heading, rule="is not a column of the register", cure=cure))
        elif heading not in headings:
            cure = suggestion(heading, [each for each in headings if each], known_as="headings there")
            found.findings.append(Finding(path=path, value=f'"{heading}"', rule="is no heading of the list", cure=cure))
        else:
            yield column, headings.index(heading)
    for key in ("units", "all_rows"):
        for column in getattr(form, key):
            allowed = (*VOLUMES, "leak_per_day") if key == "units" else COLUMNS
            if column not in allowed:
                cure = suggestion(column, allowed, known_as="columns with a choice" if key == "units" else "columns")
                found.findings.append(
                    Finding(path=("list", key, column), value="", rule="cannot stand here", cure=cure)
                )


def _canonical(column: str, text: str, form: ListForm, words: Mapping[str, Mapping[str, str]]) -> str:
    """Write a cell as the register has it; what cannot be read stays as it is, to be refused there."""
    if not text or text in ("-", "\N{EN DASH}", "?", "n/a"):
        return ""
    if column in words:
        return matched(text, words[column]) or text
    if column == "last_regenerated":
        return dated(text, form.dates) or text
    if column in NUMBERS or column in WHOLE:
        return _number(column, text, form)
    return text


def matched(text: str, words: Mapping[str, str]) -> str:
    """Return the name that the words in the list stand for; empty where none fits."""
    plain = " ".join(text.casefold().split())
    return next(
        (name for pattern, name in words.items() if fnmatchcase(plain, " ".join(pattern.casefold().split()))), ""
    )


def _number(column: str, text: str, form: ListForm) -> str:
    plain, unit = figure(text, form.decimal)
    if plain is None:
        return text
    if column == "leak_per_day" and form.units.get(column) == "per hour" and not unit:
        return f"{float(plain) * HOURS_PER_DAY:.10g}"
    if column not in VOLUMES:
        return plain if not unit or unit == "%" else text
    own = UNIT_WORDS.get(unit, "") if unit else form.units.get(column, "m3")
    return f"{float(plain) / PER_M3[own]:.10g}" if own in PER_M3 else text


def figure(text: str, decimal: str) -> tuple[str | None, str]:
    """Split "1.250,5 l" into "1250.5" and "l"; None where it is no number."""
    found = re.fullmatch(r"([+-]?\d[\d.,\u00a0\u202f ']*)\s*([^\d\s.,]\S*)?", text)
    if found is None:
        return None, ""
    group = "." if decimal == "," else ","
    digits = re.sub(r"[\u00a0\u202f ']", "", found.group(1))
    if not re.fullmatch(rf"[+-]?(\d{{1,3}}(\{group}\d{{3}})+|\d+)(\{decimal}\d+)?", digits):
        return None, ""
    return digits.replace(group, "").replace(decimal, "."), (found.group(2) or "").casefold().rstrip(".")


def figure_any(text: str) -> tuple[str | None, str]:
    """Split as `figure` does, whichever sign stands before decimals: a comma if there is one."""
    return figure(text, "," if "," in text else ".")


def dated(text: str, order: str) -> str:
    """Write a date year first; empty where it is none. Two digits of a year are of this century."""
    found = _DATE.fullmatch(text)
    if found is None:
        return _with_month_named(text)
    parts = [int(part) for part in found.groups()]
    if len(found.group(1)) == 4 or order == "year first":
        year, month, day = parts
    else:
        day, month, year = parts if order == "day first" else [parts[1], parts[0], parts[2]]
    try:
        return date(year if year >= 100 else year + CENTURY, month, day).isoformat()
    except ValueError:
        return ""


def _with_month_named(text: str) -> str:
    """Write "3 Nov 2025" or "3. novembre 2025" year first; empty where it is no such day."""
    found = re.fullmatch(r"(\d{1,2})\.? ?(?:de )?([^\W\d_]{3,})\.? ?(?:de )?(\d{4}|\d{2})", text.strip())
    if found is None:
        return ""
    name = folded(found.group(2))
    months = {number for number, starts in enumerate(MONTHS, 1) if any(name.startswith(start) for start in starts)}
    year = int(found.group(3))
    try:
        day = date(year if year >= 100 else year + CENTURY, months.pop(), int(found.group(1)))
    except (KeyError, ValueError):
        return ""
    return day.isoformat()


def _housed_together(found: Listed, name: str, ceilings: Mapping[str, float]) -> Iterator[Row]:
    """Yield one row for each id: its objects counted, the lowest ceiling, and a problem where rows contradict."""
    by_id: dict[str, list[Row]] = {}
    for row in found.rows:
        by_id.setdefault(row.cells.get("id", ""), []).append(row)
    for label, rows in by_id.items():
        if not label:
            yield from rows
            continue
        cells = dict(rows[0].cells)
        metals = [row.cells.get("metal", "") for row in rows]
        cells["metal"] = min(metals, key=lambda metal: ceilings.get(metal, -1.0))  # an unknown one is to be told
        counts = [row.cells.get("objects", "") or "1" for row in rows]
        cells["objects"] = str(sum(map(int, counts))) if all(map(str.isdigit, counts)) else counts[0]
        for column in (each for each in COLUMNS if each not in ("id", "metal", "objects")):
            said = {row.cells.get(column, ""): row.line for row in reversed(rows)}
            said.pop("", None)
            if len(said) > 1:
                first, other = sorted(said.items(), key=lambda item: item[1])[:2]
                rule = f"differs from {first[0]} in line {first[1]}, for the same enclosure {label}"
                cure = "correct one of them, or give the two their own ids"
                found.problems.append(
                    Problem(file=name, line=other[1], key=column, value=other[0][:60], rule=rule, cure=cure)
                )
            elif said:
                cells[column] = next(iter(said))
        yield Row(rows[0].line, cells)


def folded(text: str) -> str:
    """Write words in small letters, without accents and signs, one blank between them."""
    plain = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("№", "no"))
    bare = "".join(sign for sign in plain if not unicodedata.combining(sign)).casefold()
    return " ".join(re.findall(r"[a-z0-9]+", bare))
