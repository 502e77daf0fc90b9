"""Oven, staff and ready stock over the run: what is used against what there is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from simstore.prose.chart_titles import work_finding
from simstore.prose.phrases import counted, figures, number, percent, plan_said, source_line
from simstore.report.charts import style
from simstore.report.charts.months import month_axis
from simstore.report.charts.picture import Picture
from simstore.results.pooled import (
    days_out_of_packets,
    of_plan,
    oven_count,
    oven_weeks,
    staff_weeks,
    stock_days,
)
from simstore.scenario.values.settings import Settings
from simstore.units import DAYS_PER_WEEK, HOURS_PER_DAY

_LEFT_IN: Final = 0.55
_RIGHT_IN: Final = 1.62
_PANEL_IN: Final = 1.15
_BETWEEN_IN: Final = 0.36
TASKS_SHOWN: Final = 4
SORTS_SHOWN: Final = 3


def work_of_the_year(
    tables: Mapping[str, pd.DataFrame], settings: Settings, *, plan: str, days: int, replications: int = 1
) -> Picture:
    """Draw hours that ovens are taken, staff hours by task and ready packets, on one time axis.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables ``loads``, ``staff`` and ``stock``.
    settings : Settings
        Ovens and stock as this plan has them.
    plan : str
    days, replications : int
        Length of a run and number of runs.
    """
    loads, staff, stock = (of_plan(tables, name, plan) for name in ("loads", "staff", "stock"))
    oven = oven_weeks(loads, days=days, replications=replications)
    hours = staff_weeks(staff, days=days, replications=replications)
    packets = stock_days(stock)
    ovens = oven_count(settings)
    sorts = _sorts(packets)
    possible_h = ovens * HOURS_PER_DAY * DAYS_PER_WEEK
    busy_h = oven[["heating_h", "cooling_h", "waiting_h"]].sum(axis=1)
    session_h = float(hours["session_h"].sum())
    worked_h = float(hours.drop(columns=["week", "session_h"]).to_numpy().sum())
    title = work_finding(
        out_days=days_out_of_packets(stock, replications=replications),
        least_ready=int(packets["ready_least"].min()) if len(packets) else None,
        oven_busy_pct=100.0 * float(busy_h.mean()) / possible_h if ovens else None,
        staff_pct=100.0 * worked_h / session_h if session_h else 0.0,
    )
    with style.look():
        panels = 2 + len(sorts)
        sheet = style.Sheet(
            title,
            body_in=0.2 + panels * _PANEL_IN + (panels - 1) * _BETWEEN_IN + 0.34,
            explained=f"{plan_said(settings, plan)} By week; what there is as a dashed line.",
            source=source_line(settings.title, settings.note, replications=replications),
        )
        axes = [
            sheet.axes(
                left_in=_LEFT_IN,
                top_in=0.2 + place * (_PANEL_IN + _BETWEEN_IN),
                width_in=style.WIDTH_IN - _LEFT_IN - _RIGHT_IN,
                height_in=_PANEL_IN,
            )
            for place in range(panels)
        ]
        _oven_panel(axes[0], oven, ovens, possible_h)
        _staff_panel(axes[1], hours)
        for panel, sort in zip(axes[2:], sorts, strict=True):
            _stock_panel(panel, packets[packets["packet"] == sort], stock, settings, sort, replications)
        for place, panel in enumerate(axes):
            style.rules(panel)
            month_axis(panel, start=settings.start, days=days, named=place == panels - 1)
    data = oven.merge(hours, on="week").merge(_stock_weeks(packets), on="week", how="left")
    alt = f"Oven hours, staff hours by task and ready packets over the run, by week. {title}."
    return Picture("work_of_the_year", title, alt, sheet.figure, data)


def _sorts(packets: pd.DataFrame) -> list[str]:
    """Sorts of packet that were ever in use, those that came closest to running out first."""
    used = packets.groupby("packet").agg(most=("outside", "max"), least=("ready_least", "min"))
    used = used[used["most"] > 0].sort_values("least", kind="stable")
    return [str(name) for name in used.index[:SORTS_SHOWN]]


def _stock_weeks(packets: pd.DataFrame) -> pd.DataFrame:
    """Least ready packets of each week, one column a sort."""
    weekly = packets.assign(week=packets["day"] // DAYS_PER_WEEK)
    wide = weekly.pivot_table(index="week", columns="packet", values="ready", aggfunc="min")
    wide.columns = [f"least_ready_{name}" for name in wide.columns]
    return wide.reset_index()


def _stack(axes: Axes, table: pd.DataFrame, columns: list[str], names: list[str], colours: list[str]) -> None:
    """Stack ``columns`` by week and name each at the right edge."""
    weeks = len(table)
    edges = np.arange(weeks + 1) * DAYS_PER_WEEK
    below = np.zeros(weeks)
    for column, name, colour in zip(columns, names, colours, strict=True):
        above = below + table[column].to_numpy(dtype=np.float64)
        axes.stairs(above, edges, baseline=below, fill=True, color=colour, linewidth=0, label=name)
        below = above


def _key(axes: Axes, names: list[str], colours: list[str], notes: list[str]) -> None:
    """Name the layers beside the panel, in the order in which they lie on one another."""
    count = len(names)
    for place, (name, colour, note) in enumerate(zip(names, colours, notes, strict=True)):
        y = (place + 0.5) / max(count, 4)
        axes.annotate(
            "\u25a0", (1, y), (7, 0), xycoords="axes fraction", textcoords="offset points", color=colour,
            va="center", fontsize=style.TEXT_PT + 2, annotation_clip=False,
        )  # fmt: skip
        axes.annotate(
            f"{name} {note}".strip(), (1, y), (18, 0), xycoords="axes fraction", textcoords="offset points",
            va="center", fontsize=style.SMALL_PT, annotation_clip=False,
        )  # fmt: skip


def _limit(axes: Axes, level: float, text: str) -> None:
    """Name a level on its right end."""
    axes.annotate(
        text, (1, level), (-2, 2), xycoords=("axes fraction", "data"), textcoords="offset points", ha="right",
        fontsize=style.SMALL_PT,
    )  # fmt: skip


def _oven_panel(axes: Axes, oven: pd.DataFrame, ovens: int, possible_h: float) -> None:
    columns = ["heating_h", "cooling_h", "waiting_h"]
    names = ["heating", "cooling", "not emptied"]
    colours = [style.PETROL, style.STEEL, style.OCHRE]
    _stack(axes, oven, columns, names, colours)
    totals = [float(oven[column].mean()) for column in columns]
    _key(
        axes,
        names,
        colours,
        [f"{number(h)} h/week" for h in totals],
    )
    busy_pct = f", taken {percent(100 * sum(totals) / possible_h)} of the time" if possible_h else ""
    style.heading(
        axes,
        f"Ovens ({ovens})" if ovens else "No oven",
        f"{number(float(oven['dried_kg'].sum()))} kg of gel dried{busy_pct}",
    )
    highest = float(oven[columns].sum(axis=1).max())
    axes.set_ylim(0, 1.25 * max(possible_h, highest, 1.0))
    if possible_h:
        _limit(axes, possible_h, f"{number(possible_h)} h in a week")
        axes.axhline(possible_h, color=style.INK, linewidth=1.0, linestyle=(0, (5, 2)), label="possible")
    axes.set_ylabel("h a week")


def _staff_panel(axes: Axes, hours: pd.DataFrame) -> None:
    tasks = [name for name in hours.columns if name not in ("week", "session_h")]
    shown = hours
    if len(tasks) > TASKS_SHOWN + 1:
        rest = tasks[TASKS_SHOWN:]
        shown = hours.assign(rest_h=hours[rest].sum(axis=1))
        tasks = [*tasks[:TASKS_SHOWN], "rest_h"]
    names = ["other" if task == "rest_h" else task.removesuffix("_h").replace("_", " ") for task in tasks]
    colours = list(style.SERIES[: len(tasks)])
    _stack(axes, shown, tasks, names, colours)
    _key(axes, names, colours, [f"{number(float(shown[task].sum()))} h" for task in tasks])
    edges = np.arange(len(hours) + 1) * DAYS_PER_WEEK
    session = hours["session_h"].to_numpy(dtype=np.float64)
    axes.stairs(
        session, edges, color=style.INK, linewidth=1.0, linestyle=(0, (5, 2)), label="session hours", baseline=None
    )
    worked = float(shown[tasks].to_numpy().sum())
    style.heading(axes, "Staff", f"{number(worked)} of {number(float(session.sum()))} session hours worked")
    most = float(session.max())
    axes.set_ylim(0, 1.25 * max(most, 0.5))
    if most:
        _limit(axes, most, f"{figures(most)} h of sessions in a full week")
    axes.set_ylabel("h a week")


def _stock_panel(
    axes: Axes, packets: pd.DataFrame, stock: pd.DataFrame, settings: Settings, sort: str, replications: int
) -> None:
    day = packets["day"] + 1
    several = bool((packets["ready_most"] > packets["ready_least"]).any())
    if several:
        axes.fill_between(
            day, packets["ready_least"], packets["ready_most"], color=style.MIST, linewidth=0, label="range of runs"
        )
    axes.plot(day, packets["ready"], color=style.PETROL, linewidth=1.3, label="ready")
    axes.plot(day, packets["outside"], color=style.STEEL, linewidth=1.0, linestyle=style.LINES[2], label="outside")
    top = 1.15 * max(float(packets["outside"].max()), float(packets["ready_most"].max()), 1.0)
    axes.set_ylim(0, top)
    ends = [("ready", float(packets["ready"].iloc[-1]), style.PETROL)]
    ends.append(("all not in use", float(packets["outside"].iloc[-1]), style.INK))
    held = settings.stock.get(sort)
    if held is not None and held.reorder_point > 0:
        axes.axhline(held.reorder_point, color=style.RUST, linewidth=1.0, linestyle=(0, (5, 2)), label="reorder point")
        ends.append((f"order at {number(held.reorder_point)}", float(held.reorder_point), style.RUST))
    placed = style.apart([y for _, y, _ in ends], least=top * 0.13, low=top * 0.06, high=top * 0.95)
    for (text, _, colour), y in zip(ends, placed, strict=True):
        axes.annotate(
            text, (1, y), (5, 0), xycoords=("axes fraction", "data"), textcoords="offset points", color=colour,
            va="center", fontsize=style.SMALL_PT, annotation_clip=False,
        )  # fmt: skip
    least = packets.iloc[int(packets["ready_least"].to_numpy().argmin())]
    axes.plot(
        [least["day"] + 1], [least["ready_least"]], "o", color=style.RUST, markersize=4, clip_on=False, label="least"
    )
    label = settings.packets[sort].label if sort in settings.packets else sort
    fewest = int(least["ready_least"])
    out = days_out_of_packets(stock[stock["packet"] == sort], replications=replications)
    style.heading(
        axes,
        f"Ready: {label}",
        f"least {counted(fewest, 'packet')}" if fewest else f"none left on {figures(out)} days",
        right_colour=style.INK if fewest else style.RUST,
    )
    axes.set_ylabel("packets")
