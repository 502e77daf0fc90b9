"""The numbers behind the charts of the year: tables of one plan, pooled over replications."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from simstore.results.table_columns import TABLES
from simstore.scenario.values.settings import Settings
from simstore.sim.record import IDLE
from simstore.units import DAYS_PER_WEEK, MINUTES_PER_DAY, MINUTES_PER_HOUR

WEEK_MIN = DAYS_PER_WEEK * MINUTES_PER_DAY
QUANTILES = ["rh_p05_pct", "rh_p25_pct", "rh_p50_pct", "rh_p75_pct", "rh_p95_pct"]


def of_plan(tables: Mapping[str, pd.DataFrame], name: str, plan: str) -> pd.DataFrame:
    """Rows of table ``name`` that belong to ``plan``; an empty table where there is none."""
    table = tables.get(name)
    if table is None:
        return pd.DataFrame({column.name: pd.Series(dtype=column.dtype) for column in TABLES[name]})
    return table[table["plan"] == plan]


def rh_days(days: pd.DataFrame) -> pd.DataFrame:
    """Quantiles of the daily mean RH by metal class and form, each the mean over replications.

    Returns
    -------
    DataFrame
        Columns ``metal, form, day, date``, the five quantiles, ``over_pct`` and ``room_rh_pct``.
    """
    keys = ["metal", "form", "day", "date"]
    return days.groupby(keys, sort=True)[[*QUANTILES, "over_pct", "room_rh_pct"]].mean().reset_index()


def hours_over_weeks(weeks: pd.DataFrame, enclosures: pd.DataFrame, *, days: int) -> pd.DataFrame:
    """Hours over the ceiling, by enclosure and week, means over the replications of one plan.

    Parameters
    ----------
    weeks, enclosures : DataFrame
        Those tables of the results, one plan.
    days : int
        Length of a run.

    Returns
    -------
    DataFrame
        One row an enclosure: ``enclosure, metal, hours_over`` (whole run), ``ever`` (share of replications
        in which it passed its ceiling) and ``week_0`` ... with the hours of each week.
    """
    replications = enclosures["replication"].nunique()
    table = (
        enclosures.assign(ever=(enclosures["hours_over"] > 0).astype("float64"))
        .groupby("enclosure", sort=False)
        .agg(metal=("metal", "first"), hours_over=("hours_over", "sum"), ever=("ever", "sum"))
    )
    table = table.assign(hours_over=table["hours_over"] / replications, ever=table["ever"] / replications)
    grid = np.zeros((len(table), -(-days // DAYS_PER_WEEK)))
    place = {name: row for row, name in enumerate(table.index)}
    rows = weeks["enclosure"].map(place).to_numpy(dtype=np.int64)
    np.add.at(grid, (rows, weeks["week"].to_numpy()), weeks["hours_over"].to_numpy(dtype=np.float64) / replications)
    columns = [f"week_{week}" for week in range(grid.shape[1])]
    return table.join(pd.DataFrame(grid, index=table.index, columns=columns)).reset_index()


def whole_weeks(days: int) -> int:
    """Weeks of a run of ``days`` days that are shown; a short one at the end is left out."""
    return max(1, days // DAYS_PER_WEEK)


def _into_weeks(start: NDArray[Any], end: NDArray[Any], weeks: int) -> NDArray[np.float64]:
    """Hours of each week that lie between ``start`` and ``end`` [min], summed over the spans."""
    edges = np.arange(weeks + 1, dtype=np.float64) * WEEK_MIN
    upto = np.clip(edges[None, :], start[:, None], np.maximum(end, start)[:, None]) - start[:, None]
    return np.asarray(np.diff(upto, axis=1).sum(axis=0) / MINUTES_PER_HOUR)


def oven_weeks(loads: pd.DataFrame, *, days: int, replications: int) -> pd.DataFrame:
    """Hours a week that ovens are taken, by what goes on in them, and kilograms dried; means over replications.

    Returns
    -------
    DataFrame
        Columns ``week, heating_h, cooling_h, waiting_h, dried_kg``; kilograms count in the week the heat went off.
    """
    weeks = whole_weeks(days)
    end_of_run = float(days * MINUTES_PER_DAY)
    times = [
        loads[name].astype("Float64").fillna(end_of_run).to_numpy(dtype=np.float64)
        for name in ("loaded_min", "hot_min", "cool_min", "unloaded_min")
    ]
    loaded, hot, cool, unloaded = times
    cool = np.minimum(cool, unloaded)
    kg = np.zeros(weeks)
    which = (hot // WEEK_MIN).astype(np.int64)
    inside = (which < weeks) & loads["hot_min"].notna().to_numpy()
    np.add.at(kg, which[inside], loads["gel_kg"].to_numpy(dtype=np.float64)[inside])
    return pd.DataFrame(
        {
            "week": np.arange(weeks),
            "heating_h": _into_weeks(loaded, hot, weeks) / replications,
            "cooling_h": _into_weeks(hot, cool, weeks) / replications,
            "waiting_h": _into_weeks(cool, unloaded, weeks) / replications,
            "dried_kg": kg / replications,
        }
    )


def staff_weeks(staff: pd.DataFrame, *, days: int, replications: int) -> pd.DataFrame:
    """Hours a week by task, one column a task with the greatest first, then ``session_h`` with what there was."""
    weeks = whole_weeks(days)
    dated = staff.assign(week=staff["session_min"] // WEEK_MIN, hours=staff["minutes"] / MINUTES_PER_HOUR)
    dated = dated[dated["week"] < weeks]
    wide = dated.pivot_table(index="week", columns="task", values="hours", aggfunc="sum", fill_value=0.0)
    wide = wide.reindex(range(weeks), fill_value=0.0) / replications
    session = wide.sum(axis=1)
    order = [str(t) for t in wide.sum().sort_values(ascending=False, kind="stable").index if t != IDLE]
    table = pd.DataFrame({f"{task}_h": wide[task].to_numpy() for task in order}, index=range(weeks))
    table.insert(0, "week", np.arange(weeks))
    return table.assign(session_h=session.to_numpy())


def stock_days(stock: pd.DataFrame) -> pd.DataFrame:
    """Packets outside enclosures at the end of each day, by sort.

    Returns
    -------
    DataFrame
        Columns ``packet, day, ready, ready_least, ready_most`` (mean and range over replications) and
        ``outside`` (ready, spent or in an oven; mean).
    """
    counted = stock.assign(outside=stock["ready"] + stock["spent"] + stock["in_oven"])
    grouped = counted.groupby(["packet", "day"], sort=True)
    return grouped.agg(
        ready=("ready", "mean"),
        ready_least=("ready", "min"),
        ready_most=("ready", "max"),
        outside=("outside", "mean"),
    ).reset_index()


def days_out_of_packets(stock: pd.DataFrame, *, replications: int) -> float:
    """Days that ended without a ready packet of some sort, mean over replications."""
    bare = stock.loc[stock["ready"] <= 0, ["replication", "day"]].drop_duplicates()
    return len(bare) / replications


def oven_count(settings: Settings) -> int:
    """Ovens there are."""
    return sum(oven.count for oven in settings.ovens.values())


def hours_by_month(tables: Mapping[str, pd.DataFrame], plan: str, *, replications: int) -> pd.DataFrame:
    """Hours worked by month (rows) and task (columns, most first), means over replications."""
    staff = of_plan(tables, "staff", plan)
    worked = staff[staff["task"] != IDLE]
    worked = worked.assign(month=worked["date"].str[:7], hours=worked["minutes"] / MINUTES_PER_HOUR)
    wide = worked.pivot_table(index="month", columns="task", values="hours", aggfunc="sum", fill_value=0.0)
    months = sorted(of_plan(tables, "days", plan)["date"].str[:7].unique())
    wide = wide.reindex(months, fill_value=0.0) / replications
    totals = np.asarray(wide.sum(axis=0))
    order = sorted(range(len(totals)), key=lambda i: (-totals[i], str(wide.columns[i])))
    found: pd.DataFrame = wide.iloc[:, order]
    return found
