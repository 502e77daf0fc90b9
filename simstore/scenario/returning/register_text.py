"""Writes dates of drying into the text of a register, whatever list it is; everything else stays as it stands."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import date

from simstore.errors import SimstoreError
from simstore.scenario.reading.plain_table import WORKBOOK_START, separator_of, text_of
from simstore.scenario.values.list_form import ListForm

ORDERS = {"year first": "%Y-%m-%d", "day first": "%d/%m/%Y", "month first": "%m/%d/%Y"}


def with_dates(data: bytes, name: str, dates: Mapping[str, date], form: ListForm | None) -> bytes:
    """Return the register with the day on which the gel of each of these enclosures was put in dry.

    A weighed water content of such an enclosure is of its old gel and is taken out.

    Raises
    ------
    SimstoreError
        If it is a workbook, or a list without a column for the date.
    """
    if data.startswith(WORKBOOK_START):
        msg = f"{name}: is a workbook, which is not written into; save it as CSV and name that as the register"
        raise SimstoreError(msg)
    headings = {} if form is None else form.headings
    mark, dried, water = (headings.get(key, key) for key in ("id", "last_regenerated", "gel_water_pct"))
    if form is not None and "last_regenerated" not in headings:
        msg = (
            f"{name}: has no column for the day on which gel was dried; add one, and name it in [list.headings] as "
            "last_regenerated"
        )
        raise SimstoreError(msg)
    text, encoding = text_of(data)
    ending = "\r\n" if "\r\n" in text else "\n"
    separator = separator_of(text)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    at = next(n for n, row in enumerate(rows) if mark in [cell.strip() for cell in row])
    header = [cell.strip() for cell in rows[at]]
    if dried not in header:
        header.append(dried)
        rows[at] = [*rows[at], dried]
    order = ORDERS["year first" if form is None else form.dates]
    for row in rows[at + 1 :]:
        day = dates.get(row[header.index(mark)].strip()) if len(row) > header.index(mark) else None
        if any(cell.strip() for cell in row):
            row.extend([""] * (len(header) - len(row)))
        if day is not None:
            row[header.index(dried)] = day.strftime(order)
            if water in header:
                row[header.index(water)] = ""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator, lineterminator=ending).writerows(rows)
    return out.getvalue().encode(encoding)
