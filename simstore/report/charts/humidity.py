"""The year of relative humidity inside the enclosures, by metal class and form."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from simstore.prose.chart_titles import MetalYear, ceiling_said, metal_years, rh_finding
from simstore.prose.phrases import MONTHS, begun, counted, number, percent, plan_said, source_line
from simstore.report.charts import style
from simstore.report.charts.months import month_axis
from simstore.report.charts.picture import Picture
from simstore.results.pooled import of_plan, rh_days
from simstore.scenario.values.settings import Settings

_LEFT_IN = 0.50
_RIGHT_IN = 0.08
_GAP_IN = 0.30
_ROOM_IN = 0.55
_PANEL_IN = 1.30
_BETWEEN_IN = 0.40


def rh_of_the_year(tables: Mapping[str, pd.DataFrame], settings: Settings, *, plan: str) -> Picture:
    """Draw how damp it is inside over the run: median and bands by metal class, against ceiling and room.

    Box and bag of one metal class stand side by side, because their quantiles cannot be added.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables ``days`` and ``enclosures``.
    settings : Settings
        Metals (labels, ceilings, standards), kinds and start.
    plan : str
    """
    days, enclosures = of_plan(tables, "days", plan), of_plan(tables, "enclosures", plan)
    if days.empty:
        msg = f"plan {plan!r} has no rows in the table 'days': nothing to draw"
        raise ValueError(msg)
    pooled = rh_days(days)
    years = metal_years(pooled, enclosures, settings)
    replications = int(days["replication"].nunique())
    title = rh_finding(years)
    forms = {year.metal: _forms(pooled, year.metal) for year in years}
    with style.look():
        body_in = 0.2 + _ROOM_IN + sum(_row_in(forms[year.metal]) for year in years) + 0.36
        sheet = style.Sheet(
            title,
            body_in=body_in,
            explained=f"{plan_said(settings, plan)} Daily mean RH inside: median (line), middle half (dark) "
            "and 5 to 95 % of enclosures (light).",
            source=source_line(settings.title, settings.note, replications=replications),
        )
        _room(sheet, pooled, settings)
        top_in = 0.2 + _ROOM_IN
        for place, year in enumerate(years):
            below = years[place + 1] if place + 1 < len(years) else None
            named = below is None or len(forms[below.metal]) != len(forms[year.metal])
            top_in += _row_in(forms[year.metal])
            panel_top_in = top_in - _PANEL_IN
            _metal_row(sheet, pooled, enclosures, settings, year, top_in=panel_top_in, named=named)
    return Picture("rh_of_the_year", title, _alt(title, years), sheet.figure, pooled)


def _alt(title: str, years: list[MetalYear]) -> str:
    each = "; ".join(f"{y.label}: {percent(y.over_pct)} of object-days over {ceiling_said(y)}" for y in years)
    return f"Relative humidity inside over the run. {title}. {each}."


def _room(sheet: style.Sheet, pooled: pd.DataFrame, settings: Settings) -> None:
    """Draw the room's own humidity on a strip above everything."""
    axes = sheet.axes(left_in=_LEFT_IN, top_in=0.2, width_in=style.WIDTH_IN - _LEFT_IN - _RIGHT_IN, height_in=_ROOM_IN)
    room = pooled.groupby("day")["room_rh_pct"].mean()
    axes.plot(room.index, room, color=style.GREY, linewidth=0.7, label="room")
    first = settings.start
    since = f"Room, from {first.day} {MONTHS[first.month - 1]} {first.year}"
    style.heading(axes, since, f"mean {number(float(room.mean()))} %RH", right_colour=style.GREY)
    low, high = float(room.min()), float(room.max())
    axes.set_ylim(max(0.0, 10 * np.floor(low / 10 - 0.2)), min(100.0, 10 * np.ceil(high / 10 + 0.2)))
    axes.set_yticks([float(axes.get_ylim()[0]), float(axes.get_ylim()[1])])
    axes.set_ylabel("%RH", fontsize=style.SMALL_PT)
    style.rules(axes)
    month_axis(axes, start=settings.start, days=len(room), named=False)


def _forms(pooled: pd.DataFrame, metal: str) -> list[str]:
    """Forms that a metal class is housed in, boxes first."""
    return sorted(pooled.loc[pooled["metal"] == metal, "form"].unique(), key=lambda form: (form != "box", form))


def _row_in(forms: list[str]) -> float:
    """Height of a row with what stands over it; several forms need a line of their own for the metal. [in]."""
    return _PANEL_IN + _BETWEEN_IN + (0.20 if len(forms) > 1 else 0.0)


def _metal_row(
    sheet: style.Sheet,
    pooled: pd.DataFrame,
    enclosures: pd.DataFrame,
    settings: Settings,
    year: MetalYear,
    *,
    top_in: float,
    named: bool,
) -> None:
    """Draw one metal class: a panel for each form that it is housed in, on one scale."""
    metal = pooled[pooled["metal"] == year.metal]
    forms = _forms(pooled, year.metal)
    several = len(forms) > 1
    all_in = style.WIDTH_IN - _LEFT_IN - _RIGHT_IN
    width_in = (all_in - (len(forms) - 1) * _GAP_IN) / len(forms)
    top_pct = min(100.0, max(1.5 * year.ceiling_rh_pct, 1.1 * float(metal["rh_p95_pct"].max())))
    form_of = enclosures["kind"].map({name: kind.form for name, kind in settings.kinds.items()})
    first_run = enclosures["replication"] == enclosures["replication"].min()
    colour = style.RUST if year.fails else style.INK
    if several:
        above_in = top_in - 0.37
        sheet.text(begun(year.label), left_in=_LEFT_IN, top_in=above_in, fontweight="bold")
        right_in = style.WIDTH_IN - _RIGHT_IN
        sheet.text(_share_said(year), left_in=right_in, top_in=above_in, ha="right", color=colour)
    for column, form in enumerate(forms):
        rows = metal[metal["form"] == form]
        axes = sheet.axes(
            left_in=_LEFT_IN + column * (width_in + _GAP_IN), top_in=top_in, width_in=width_in, height_in=_PANEL_IN
        )
        _bands(axes, rows, year, top_pct, most_points=370 // len(forms))
        count = int((first_run & (enclosures["metal"] == year.metal) & (form_of == form)).sum())
        housed = counted(count, form, {"box": "boxes"}.get(form, ""))
        if several:
            own_pct = float(rows["over_pct"].mean())
            own = style.RUST if own_pct > year.allowed_pct else style.INK
            style.heading(axes, begun(housed), f"{percent(own_pct)} over", right_colour=own, bold=False)
        else:
            style.heading(axes, f"{begun(year.label)}, {housed}", _share_said(year), right_colour=colour)
        axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
        if column == 0:
            axes.set_ylabel("RH inside, %RH")
        else:
            axes.tick_params(axis="y", labelleft=False)
        month_axis(axes, start=settings.start, days=int(rows["day"].max()) + 1, named=named, narrow=several)


def _share_said(year: MetalYear) -> str:
    over, allowed = year.over_pct, year.allowed_pct
    return f"{percent(over, beside=allowed)} of object-days over ({percent(allowed, beside=over)} allowed)"


def _bands(axes: Axes, rows: pd.DataFrame, year: MetalYear, top_pct: float, *, most_points: int) -> None:
    """Draw bands, median and ceiling; of a long run every second or tenth day is enough at this width."""
    rows = rows.iloc[:: max(1, -(-len(rows) // most_points))]
    day = rows["day"] + 0.5
    axes.fill_between(day, rows["rh_p05_pct"], rows["rh_p95_pct"], color=style.MIST, linewidth=0, label="5-95 %")
    axes.fill_between(day, rows["rh_p25_pct"], rows["rh_p75_pct"], color=style.STEEL, linewidth=0, label="25-75 %")
    axes.plot(day, rows["rh_p50_pct"], color=style.PETROL, linewidth=1.4, label="median")
    axes.axhline(year.ceiling_rh_pct, color=style.RUST, linewidth=1.2, linestyle=(0, (5, 2)), label="ceiling")
    axes.annotate(
        f"ceiling {ceiling_said(year)}",
        (0.0, year.ceiling_rh_pct),
        (3, 2),
        textcoords="offset points",
        color=style.RUST,
        fontsize=style.SMALL_PT,
    )
    axes.set_ylim(0, top_pct)
    style.rules(axes)
