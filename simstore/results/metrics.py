"""One replication as numbers: name, unit, value."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simstore.money.costs import cost_lines, total
from simstore.results.by_year import held_by_year, score
from simstore.results.day_columns import room_day_means
from simstore.results.metric_names import METRICS
from simstore.results.tallied import tally_of
from simstore.scenario.values.settings import Settings
from simstore.sim.record import IDLE, EnclosureYear, RunRecord
from simstore.units import DAYS_PER_WEEK, DAYS_PER_YEAR, MINUTES_PER_DAY, MINUTES_PER_HOUR

MINUTES_PER_WEEK = MINUTES_PER_DAY * DAYS_PER_WEEK


class MetricValue(NamedTuple):
    """One row of the summary; ``value`` is NaN where there is nothing to measure."""

    metric: str
    unit: str
    value: float


def metrics_of(record: RunRecord) -> list[MetricValue]:
    """Every metric of one replication, in the order of :data:`simstore.results.metric_names.METRICS`."""
    settings = record.scenario.settings
    years = record.days / DAYS_PER_YEAR
    values = {
        **_held(settings, record.enclosures, years),
        **_gel(record, years),
        **_ovens(settings, record, years),
        **_people(record, years),
        **_exchanges(record, years),
        **_money(record),
        "liquid_water_h": float(record.enclosures.liquid_hours.sum()) / years,
        "swing_damping": swing_damping(record),
    }
    order = {metric.name: place for place, metric in enumerate(METRICS)}
    named = sorted(values.items(), key=lambda item: (order[item[0].partition(".")[0]], item[0]))
    units = {metric.name: metric.unit for metric in METRICS}
    currency = settings.prices.currency
    return [
        MetricValue(name, units[name.partition(".")[0]].replace("currency", currency), float(value))
        for name, value in named
    ]


def held_pct(year: EnclosureYear, metal: str) -> float:
    """Share of the object-days of one metal class that were held, %; NaN if there were none."""
    of_metal = np.asarray([name == metal for name in year.metal])
    objects = year.objects[of_metal]
    held, counted = (objects * days[of_metal] for days in (year.held_days, year.counted_days))
    return float(shares_pct(held.sum(), counted.sum()))


def shares_pct(parts: ArrayLike, wholes: ArrayLike) -> NDArray[np.float64]:
    """Shares, %; NaN of nothing."""
    whole = np.asarray(wholes, dtype=np.float64)
    return 100.0 * np.asarray(parts) / np.where(whole == 0, np.nan, whole)


def _held(settings: Settings, year: EnclosureYear, years: float) -> dict[str, float]:
    values = {}
    by_year = held_by_year(year, settings.metals)
    margin = float("inf")
    for metal, shares in by_year.items():
        of_metal = np.asarray([name == metal for name in year.metal])
        worst = float(np.nanmin(shares)) if np.isfinite(shares).any() else float("nan")
        values[f"held_pct.{metal}"] = held_pct(year, metal)
        values[f"worst_year_held_pct.{metal}"] = worst
        if year.lower_limit_rh_pct[of_metal].any():
            objects = year.objects[of_metal]
            dry, counted = (objects * days[of_metal] for days in (year.dry_days, year.counted_days))
            values[f"too_dry_pct.{metal}"] = float(shares_pct(dry.sum(), counted.sum()))
        values[f"excess_pct_days.{metal}"] = float(year.excess_pct_days[of_metal].sum()) / years
        values[f"ever_over.{metal}"] = int(np.count_nonzero(year.hours_over[of_metal]))
        margin = min(margin, float(np.nan_to_num(worst - settings.metals[metal].standard_pct, nan=np.inf)))
    values["margin_pct"] = margin if np.isfinite(margin) else float("nan")
    values["margin_ln"] = score(by_year, settings.metals)
    values["years_met"] = float(not margin < 0.0)
    return values


def swing_damping(record: RunRecord) -> float:
    """Share of the room's day-to-day swing that the middle enclosure keeps out; NaN in a room without any.

    The swing is the median of the absolute change of the daily mean from one day to the next: the slow
    rise between two exchanges and the fall at each of them hardly count.
    """
    if record.days < 2:
        return float("nan")
    room = float(np.median(np.abs(np.diff(room_day_means(record.room_rh_pct, record.days)))))
    if room == 0.0:
        return float("nan")
    changes = np.abs(np.diff(record.enclosures.day_mean_rh_pct.astype(np.float64), axis=1))
    known = changes[np.isfinite(changes).any(axis=1)]
    return 1.0 - float(np.median(np.nanmedian(known, axis=1))) / room


def _gel(record: RunRecord, years: float) -> dict[str, float]:
    by_day: defaultdict[int, float] = defaultdict(float)
    least: dict[str, int] = {}
    for row in record.stock:
        by_day[row.day] += row.gel_kg
        least[row.packet] = min(row.ready, least.get(row.packet, row.ready))
    return {
        "gel_bought_kg": record.ledger.gel_bought_kg / years,
        "gel_circulating_kg": float(np.mean(list(by_day.values()))) if by_day else float("nan"),
        **{f"least_ready.{packet}": least[packet] for packet in sorted(least)},
    }


def _ovens(settings: Settings, record: RunRecord, years: float) -> dict[str, float]:
    end_min = record.days * MINUTES_PER_DAY
    ovens = sum(oven.count for oven in settings.ovens.values())
    ends = [end_min if load.unloaded_min is None else load.unloaded_min for load in record.loads]
    busy_min = sum(ends) - sum(load.loaded_min for load in record.loads)
    spent_by_day = sum(row.spent for row in record.stock)
    loaded = sum(load.packets for load in record.loads)
    nan = float("nan")
    return {
        "loads": len(record.loads) / years,
        "oven_use_pct": 100.0 * busy_min / (ovens * end_min) if ovens else nan,
        # Little's law: mean number waiting = arrivals a day x mean wait.
        "oven_wait_days": spent_by_day / loaded if loaded else nan,
        "energy_kwh": sum(load.energy_kwh for load in record.loads) / years,
    }


def _people(record: RunRecord, years: float) -> dict[str, float]:
    minutes: Counter[str] = Counter()
    weeks: Counter[int] = Counter()
    for row in record.staff:
        minutes[row.task] += row.minutes
        if row.task != IDLE:
            weeks[row.session_min // MINUTES_PER_WEEK] += row.minutes
    worked = {task: count for task, count in sorted(minutes.items()) if task != IDLE}
    hours = years * MINUTES_PER_HOUR
    return {
        "staff_h": sum(worked.values()) / hours,
        **{f"staff_h.{task}": count / hours for task, count in worked.items()},
        "peak_week_h": max(weeks.values(), default=0) / MINUTES_PER_HOUR,
        "idle_h": minutes[IDLE] / hours,
        "overdue": sum(row.due_min <= record.days * MINUTES_PER_DAY - MINUTES_PER_WEEK for row in record.undone),
        "rounds": len(record.rounds) / years,
    }


def _exchanges(record: RunRecord, years: float) -> dict[str, float]:
    year = record.enclosures
    by_metal: Counter[str] = Counter()
    for metal, count in zip(year.metal, year.exchanges.tolist(), strict=True):
        by_metal[metal] += count
    waits = [row.minute - row.due_min for row in record.exchanges]
    return {
        "exchanges": sum(by_metal.values()) / years,
        **{f"exchanges.{metal}": count / years for metal, count in by_metal.items()},
        "exchange_wait_days": sum(waits) / len(waits) / MINUTES_PER_DAY if waits else float("nan"),
    }


def _money(record: RunRecord) -> dict[str, float]:
    lines = cost_lines(tally_of(record))
    return {
        "cost_per_year": total(lines, "running"),
        "annual_equivalent_cost": total(lines, "running", "capital"),
    }
