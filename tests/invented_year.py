"""Invented tables in the shape of the results: a store whose numbers are made up for looking at charts."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache

import numpy as np
import pandas as pd

from simstore.results.table_columns import TABLES
from simstore.scenario.values.housing import Kind, Layer, Metal
from simstore.scenario.values.plan import Plan
from simstore.scenario.values.room import Climate
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet
from simstore.scenario.values.work import Oven, Stock, Technician

START = date(2026, 1, 1)
DAYS = 365


def settings(**changes) -> Settings:
    leak = {"film": "x", "thickness_um": 100.0, "area_m2": 0.2, "leak_per_day": 1.0}
    values = {
        "title": "Invented store",
        "note": "Invented demonstration data",
        "start": START,
        "default_plan": "today",
        "climate": Climate(),
        "metals": {
            "iron": Metal(label="iron", ceiling_rh_pct=15.0, standard_pct=99.0),
            "copper": Metal(label="copper alloy", ceiling_rh_pct=38.0, standard_pct=99.0),
        },
        "kinds": {
            "box5": Kind(label="box", form="box", volume_m3=0.005, layers=(Layer(**leak),)),
            "bag3": Kind(label="bag", form="bag", volume_m3=0.005, layers=(Layer(**leak),)),
        },
        "packets": {"p200": Packet(label="200 g packet", sorbent="gel", gel_kg=0.2)},
        "ovens": {"small": Oven(trays=4, tray_area_m2=0.15)},
        "stock": {"p200": Stock(ready=60, reorder_point=20, order_quantity=40)},
        "technicians": {"a": Technician(sessions=("Tue 09:00-12:30", "Thu 09:00-12:30"))},
        "plans": {"today": Plan(label="as today", rule="calendar")},
    }
    return Settings(**(values | changes))


def table(name: str, rows: list[tuple] | list[dict]) -> pd.DataFrame:
    """Make a table of the schema; columns that dictionaries do not give are 0."""
    columns = TABLES[name]
    frame = pd.DataFrame(rows, columns=[c.name for c in columns])
    if rows and isinstance(rows[0], dict):
        frame = frame.fillna(0)
    return frame.astype({c.name: c.dtype for c in columns})


def year(
    *, damp: float = 1.0, replications: int = 1, days: int = DAYS, plan: str = "today", busy: float = 1.0
) -> dict[str, pd.DataFrame]:
    """Make tables; ``damp`` scales the RH inside, ``busy`` the work."""
    return dict(_made(damp, replications, days, plan, busy))


@cache
def _made(damp, replications, days, plan, busy):
    parts: dict[str, list] = {name: [] for name in TABLES}
    for replication in range(replications):
        rng = np.random.default_rng([7, replication])
        _fill(parts, rng, damp=damp, days=days, plan=plan, replication=replication, busy=busy)
    return {name: table(name, rows) for name, rows in parts.items()}


def _fill(parts, rng, *, damp, days, plan, replication, busy):
    run = (plan, replication)
    day = np.arange(days)
    season = np.sin(2 * np.pi * (day - 150) / 365)
    room = 58 + 10 * season + np.convolve(rng.normal(0, 4, days + 8), np.ones(9) / 3, "valid")[:days]
    groups = [("iron", "box", 230, 9.0, 0.45), ("iron", "bag", 60, 6.0, 0.3), ("copper", "box", 310, 17.0, 0.4)]
    ceiling = {"iron": 15.0, "copper": 38.0}
    names, weeks = [], []
    for metal, form, count, middle, spread in groups:
        saw = np.abs(((day[None, :] + rng.uniform(0, 91, count)[:, None]) % 91) / 91)
        rh = damp * middle * np.exp(spread * rng.normal(size=count))[:, None] * (0.6 + 0.6 * saw) * (1 + 0.25 * season)
        rh = np.minimum(rh, room)
        quantiles = np.quantile(rh, [0.05, 0.25, 0.5, 0.75, 0.95], axis=0)
        over = 100 * (rh > ceiling[metal]).mean(axis=0)
        for d in range(days):
            parts["days"].append(
                (*run, d, str(START + timedelta(days=d)), metal, form, count, *quantiles[:, d], over[d], room[d], 16.0)
            )
        hours = 24 * (rh > ceiling[metal])
        pad = np.zeros((count, -(-days // 7) * 7), dtype=np.int64)
        pad[:, :days] = hours
        for i in range(count):
            name = f"{metal}-{form}-{i + 1:03d}"
            names.append(name)
            kind = "box5" if form == "box" else "bag3"
            late = rh[i] > ceiling[metal]
            parts["enclosures"].append(
                {"plan": plan, "replication": replication, "enclosure": name, "kind": kind, "metal": metal, "objects": 1,
                 "days": days, "leak_per_day": 1.0, "held_pct": 100 * (1 - late.mean()),
                 "hours_over": int(hours[i].sum()), "worst_rh_pct": rh[i].max(), "mean_rh_pct": rh[i].mean(),
                 "exchanges": 4}
            )  # fmt: skip
        weeks.append(pad.reshape(count, -1, 7).sum(axis=2).astype(np.uint8))
    hours_of_week = np.vstack(weeks)
    for row, week in zip(*np.nonzero(hours_of_week), strict=True):
        parts["weeks"].append((*run, names[row], week, hours_of_week[row, week]))
    _work(parts, rng, run=run, days=days, busy=busy)


def _work(parts, rng, *, run, days, busy):
    ready = 60
    for d in range(days):
        minute = d * 1440
        today = str(START + timedelta(days=d))
        if d % 7 in (1, 3):
            demand = min(1.0, busy * rng.uniform(0.3, 0.9) * (1.3 if 180 < d < 280 else 1.0))
            spent = [
                ("gear", 5),
                ("inspect", int(70 * demand)),
                ("exchange", int(90 * demand)),
                ("load", 20),
                ("unload", 15),
            ]
            spent.append(("prepare", int(10 * demand)))
            spent.append(("idle", 210 - sum(m for _, m in spent)))
            for task, minutes in spent:
                parts["staff"].append((*run, minute + 540, today, "a", task, minutes))
            start = minute + 600
            wait = 1440 * (5 if d % 14 == 3 else 2)
            parts["loads"].append(
                (*run, "small 1", "a", start, start + 465, start + 825, min(start + wait - 60, days * 1440 - 1), 20, 4.2,
                 1.1, 0.08, 3.0)
            )  # fmt: skip
            ready += 20
        ready = max(0, ready - int(rng.poisson(5.9 * busy + (3 if 180 < d < 280 else 0))))
        parts["stock"].append((*run, d, "p200", ready, 15, 20, 600, 0, 0, 130.0, 0.0))
