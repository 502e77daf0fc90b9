"""One replication as plain columns: no pandas, so that the processes that simulate can do this work too."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simstore.money.costs import cost_lines, mending_price
from simstore.results.balance import check_balance
from simstore.results.day_columns import day_columns
from simstore.results.fill_rule import fill_rule_columns
from simstore.results.metrics import metrics_of, shares_pct
from simstore.results.table_columns import TABLES
from simstore.results.tallied import tally_of
from simstore.sim.record import RunRecord
from simstore.units import MINUTES_PER_DAY

GOES_OUT: Final = frozenset({"lost", "driven_off", "lost_with_gel"})
"""Entries of the ledger that leave the store."""

Cells = list[Any] | NDArray[Any]
Columns = Mapping[str, Cells]
"""Cells by column name; all columns of a table have one length."""


class RunColumns(NamedTuple):
    """All tables of one replication as plain columns: small enough to send from one process to another."""

    plan: str
    replication: int
    tables: Mapping[str, Columns]


def run_columns(record: RunRecord) -> RunColumns:
    """Check the books of one replication and make its tables' columns.

    Raises
    ------
    SimstoreError
        If the books do not close.
    """
    check_balance(record)
    return RunColumns(record.plan, record.replication, table_columns(record))


def table_columns(record: RunRecord) -> dict[str, Columns]:
    """Every table of one replication as columns, without ``plan`` and ``replication``.

    Returns
    -------
    dict of str to dict of str to list or ndarray
        Tables and columns named as in :data:`simstore.results.table_columns.TABLES`, rows in a stable order.
    """
    return {name: _BUILDERS[name](record) for name in TABLES}


def dates_of(start: date, day_numbers: Sequence[int]) -> list[str]:
    """Dates, year-month-day, of days of the run counted from 0."""
    known = {day: (start + timedelta(days=day)).isoformat() for day in set(day_numbers)}
    return [known[day] for day in day_numbers]


def _dates_at(record: RunRecord, minutes: Sequence[int]) -> list[str]:
    return dates_of(record.scenario.settings.start, [minute // MINUTES_PER_DAY for minute in minutes])


def _fields(rows: Sequence[object], **field_of_column: str) -> dict[str, Cells]:
    return {column: [getattr(row, name) for row in rows] for column, name in field_of_column.items()}


def _enclosures(record: RunRecord) -> Columns:
    year = record.enclosures
    return {
        "enclosure": list(year.id),
        "kind": list(year.kind),
        "metal": list(year.metal),
        "objects": year.objects,
        "days": year.counted_days,
        "leak_per_day": year.leak_per_day,
        "held_pct": shares_pct(year.held_days, year.counted_days),
        "hours_over": year.hours_over,
        "hours_liquid": year.liquid_hours,
        "excess_pct_days": year.excess_pct_days,
        "worst_rh_pct": year.worst_rh_pct,
        "mean_rh_pct": year.mean_rh_pct,
        "exchanges": year.exchanges,
    }


def _weeks(record: RunRecord) -> Columns:
    hours = record.enclosures.week_hours_over
    rows, weeks = hours.nonzero()
    return {
        "enclosure": [record.enclosures.id[row] for row in rows.tolist()],
        "week": weeks,
        "hours_over": hours[rows, weeks],
    }


def _rounds(record: RunRecord) -> Columns:
    rows = sorted(record.rounds, key=lambda row: (row.started_min, row.technician))
    return _fields(
        rows,
        started_min="started_min",
        ended_min="ended_min",
        technician="technician",
        due="due_count",
        inspected="inspected",
        called="called",
        truly_over="truly_over",
    )


def _exchanges(record: RunRecord) -> Columns:
    rows = sorted(record.exchanges, key=lambda row: (row.minute, row.enclosure, row.technician))
    return {
        "minute": [row.minute for row in rows],
        "date": _dates_at(record, [row.minute for row in rows]),
        "enclosure": [record.enclosures.id[row.enclosure] for row in rows],
        "waited_days": [(row.minute - row.due_min) / MINUTES_PER_DAY for row in rows],
        **_fields(
            rows,
            technician="technician",
            packet="packet",
            packets="packets",
            reason="reason",
            rh_before_pct="rh_before_pct",
            water_out_pct="water_out_pct",
            water_in_pct="water_in_pct",
        ),
    }


def _loads(record: RunRecord) -> Columns:
    rows = sorted(record.loads, key=lambda row: (row.loaded_min, row.oven))
    names = [column.name for column in TABLES["loads"][2:]]
    return _fields(rows, **{name: name for name in names})


def _stock(record: RunRecord) -> Columns:
    rows = sorted(record.stock, key=lambda row: (row.day, row.packet))
    names = [column.name for column in TABLES["stock"][2:]]
    return _fields(rows, **{name: name for name in names})


def _staff(record: RunRecord) -> Columns:
    rows = sorted(record.staff, key=lambda row: (row.session_min, row.technician, row.task))
    columns = _fields(rows, session_min="session_min", technician="technician", task="task", minutes="minutes")
    return {**columns, "date": _dates_at(record, [row.session_min for row in rows])}


def _orders(record: RunRecord) -> Columns:
    rows = sorted(record.orders, key=lambda row: (row.ordered_min, row.packet))
    names = [column.name for column in TABLES["orders"][2:] if column.name != "date"]
    columns = _fields(rows, **{name: name for name in names})
    return {**columns, "date": _dates_at(record, [row.ordered_min for row in rows])}


def _undone(record: RunRecord) -> Columns:
    rows = sorted(record.undone, key=lambda row: (row.due_min, row.task, row.subject))
    return _fields(rows, task="task", subject="subject", due_min="due_min")


def _mishaps(record: RunRecord) -> Columns:
    rows = sorted(record.mishaps, key=lambda row: (row.minute, row.what, row.subject))
    columns = _fields(rows, what="what", subject="subject", minute="minute", mended_min="mended_min")
    settings = record.scenario.settings
    prices = [mending_price(settings, row.what, row.sort) for row in rows]
    return {**columns, "date": _dates_at(record, [row.minute for row in rows]), "cost": prices}


def _watched(record: RunRecord) -> Columns:
    series = sorted(record.watched.items())
    return {
        "enclosure": [name for name, values in series for _ in range(len(values))],
        "hour": [hour for _, values in series for hour in range(len(values))],
        "rh_pct": np.concatenate([np.empty(0), *(values.astype(np.float64) for _, values in series)]),
    }


def _costs(record: RunRecord) -> Columns:
    lines = cost_lines(tally_of(record))
    names = [column.name for column in TABLES["costs"][2:]]
    return _fields(lines, **{name: name for name in names})


def _balance(record: RunRecord) -> Columns:
    names = sorted(field.name for field in fields(record.ledger) if field.name.endswith("_kg"))
    order = {"start": 0, "end": 2}
    rows = []
    for name in names:
        book, _, entry = name.removesuffix("_kg").partition("_")
        kg = getattr(record.ledger, name)
        rows.append((book, order.get(entry, 1), entry, -kg if entry in GOES_OUT else kg))
    rows.sort()
    return {"book": [row[0] for row in rows], "entry": [row[2] for row in rows], "kg": [row[3] for row in rows]}


def _summary(record: RunRecord) -> Columns:
    values = metrics_of(record)
    return _fields(values, metric="metric", unit="unit", value="value")


def _days(record: RunRecord) -> Columns:
    numbers, columns = day_columns(record)
    return {"date": dates_of(record.scenario.settings.start, numbers), **columns}


_BUILDERS: Final[dict[str, Callable[[RunRecord], Columns]]] = {
    "enclosures": _enclosures,
    "weeks": _weeks,
    "days": _days,
    "rounds": _rounds,
    "exchanges": _exchanges,
    "loads": _loads,
    "stock": _stock,
    "staff": _staff,
    "orders": _orders,
    "costs": _costs,
    "undone": _undone,
    "fill_rule": fill_rule_columns,
    "mishaps": _mishaps,
    "watched": _watched,
    "balance": _balance,
    "summary": _summary,
}
