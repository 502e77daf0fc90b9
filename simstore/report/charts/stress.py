"""The chosen plan when something goes wrong: held share over the run under each stress, against the undisturbed run."""

from __future__ import annotations

from datetime import date
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from simstore.prose.phrases import begun, number, percent
from simstore.report.charts import style
from simstore.report.charts.months import month_axis
from simstore.report.charts.picture import Picture
from simstore.units import DAYS_PER_WEEK

UNDISTURBED: Final = "undisturbed"
_LEFT_IN: Final = 0.55
_PANEL_IN: Final = 0.85
_BETWEEN_IN: Final = 0.34


def under_stress(
    weeks: pd.DataFrame, spans: pd.DataFrame, *, standard_pct: float, what: str, start: date, source: str = ""
) -> Picture:
    """Draw the held share by week under each stress, worst first, with the undisturbed plan behind it.

    Parameters
    ----------
    weeks : DataFrame
        ``stress`` ("undisturbed" for the plan left alone), ``week`` (from 0), ``held_pct`` (share of object-days
        held in the week, mean over replications, %).
    spans : DataFrame
        One row a stress: ``stress``, ``label``, ``first_day``, ``last_day`` (of the run, from 0; the same numbers as
        the run's for a stress that lasts throughout).
    standard_pct : float
        Share of object-days that must be held over the run. [%]
    what : str
        Which object-days are counted, as "iron".
    start : date
        First day of the run.
    source : str
    """
    wide = weeks.pivot_table(index="week", columns="stress", values="held_pct").sort_index()
    base = wide[UNDISTURBED].to_numpy(dtype=np.float64)
    means = wide.mean()
    order = [name for name in means.sort_values(kind="stable").index if name != UNDISTURBED]
    named = spans.set_index("stress")
    days = len(wide) * DAYS_PER_WEEK
    title = _stress_finding(
        [(str(named.loc[n, "label"]), float(means[n])) for n in order], float(means[UNDISTURBED]), standard_pct, what
    )
    with style.look():
        count = len(order)
        sheet = style.Sheet(
            title,
            body_in=0.2 + count * _PANEL_IN + (count - 1) * _BETWEEN_IN + 0.4,
            explained=f"Share of {what} object-days held in each week, %. Grey line: undisturbed "
            f"({percent(float(means[UNDISTURBED]))} over the run). Grey field: while it lasts.",
            source=source,
        )
        floor = max(0.0, 5.0 * np.floor((float(np.nanmin(wide.to_numpy())) - 2.0) / 5.0))
        for place, name in enumerate(order):
            axes = sheet.axes(
                left_in=_LEFT_IN,
                top_in=0.2 + place * (_PANEL_IN + _BETWEEN_IN),
                width_in=style.WIDTH_IN - _LEFT_IN - 0.1,
                height_in=_PANEL_IN,
            )
            first, last = float(named.loc[name, "first_day"]), float(named.loc[name, "last_day"])
            axes.axvspan(max(first, 0.0), min(last + 1.0, days), color="#eceff1", linewidth=0, zorder=0.2)
            _stress_panel(axes, wide[name].to_numpy(dtype=np.float64), base)
            fails = float(means[name]) < standard_pct
            style.heading(
                axes,
                begun(str(named.loc[name, "label"])),
                f"{percent(float(means[name]), beside=standard_pct)} held over the run, {percent(standard_pct)} wanted",
                right_colour=style.RUST if fails else style.INK,
            )
            axes.set_ylim(floor, 100.0 + 0.04 * (100.0 - floor))
            axes.set_yticks([floor, 100.0])
            axes.set_ylabel("held, %", fontsize=style.SMALL_PT)
            month_axis(axes, start=start, days=days, named=place == count - 1)
    return Picture("under_stress", title, f"{title}.", sheet.figure, weeks)


def _stress_panel(axes: Axes, held: np.ndarray, base: np.ndarray) -> None:
    day = (np.arange(len(held)) + 0.5) * DAYS_PER_WEEK
    axes.fill_between(day, held, base, where=held < base, color="#e3b9a6", linewidth=0, label="lost")
    axes.plot(day, base, color=style.GREY, linewidth=1.0, label=UNDISTURBED)
    axes.plot(day, held, color=style.RUST, linewidth=1.5, label="stressed")


def _stress_finding(stresses: list[tuple[str, float]], base: float, standard_pct: float, what: str) -> str:
    failing = [label for label, held in stresses if held < standard_pct]
    worst, held = stresses[0]
    if not failing:
        return (
            f"The plan keeps its standard under every stress; the worst, {worst}, leaves "
            f"{percent(held, beside=standard_pct)} of {what} object-days held"
        )
    if base < standard_pct:
        return (
            f"The plan misses its standard even undisturbed; {worst} is worst and leaves "
            f"{percent(held, beside=standard_pct)} of {what} object-days held"
        )
    return (
        f"{begun(worst)} hits hardest: {percent(held, beside=standard_pct)} of {what} object-days held instead of "
        f"{percent(base, beside=held)}; {number(len(failing))} of {number(len(stresses))} stresses break the standard"
    )
