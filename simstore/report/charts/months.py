"""A time axis in months (or years, for long runs), from the days of the run."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

from matplotlib.axes import Axes

from simstore.prose.phrases import MONTHS
from simstore.report.charts import style

LONG_DAYS = 2 * 366
"""Runs that are longer than this are ruled by years."""


def turns_of_months(start: date, days: int, *, by_year: bool = False) -> list[int]:
    """List the days of the run on which a month (or year) begins, with the run's own beginning and end."""
    turns = [0]
    for day in range(1, days):
        today = start + timedelta(days=day)
        if today.day == 1 and (today.month == 1 or not by_year):
            turns.append(day)
    return [*turns, days]


def month_axis(axes: Axes, *, start: date, days: int, named: bool = True, narrow: bool = False) -> None:
    """Rule the x axis of ``axes``, in days from ``start``, at the turns of months and name the months between.

    ``named`` False leaves the names to an axis below; ``narrow`` gives initials without the year. The rules are one
    line and the names are plain texts, because dozens of ticks would take most of the time of a chart.
    """
    by_year = days > LONG_DAYS
    turns = turns_of_months(start, days, by_year=by_year)
    across = axes.get_xaxis_transform()
    axes.set_xlim(0, days)
    axes.set_xticks([])
    axes.vlines(turns[1:-1], 0, 1, transform=across, color=style.HAIR, linewidth=0.5, zorder=0.4)
    down = 3.0 / style.size_pt(axes)[1]
    axes.vlines(turns, -down, 0, transform=across, color=style.GREY, linewidth=0.6, clip_on=False)
    if not named:
        return
    year_said = narrow
    for first, after in pairwise(turns):
        today = start + timedelta(days=first)
        if after - first < (120 if by_year else 12):
            continue
        name = str(today.year) if by_year else MONTHS[today.month - 1][: 1 if narrow or days > 366 else 3]
        if not by_year and not narrow and (today.month == 1 or not year_said):
            name, year_said = f"{name}\n{today.year}", True
        axes.annotate(
            name, ((first + after) / 2, 0), (0, -6), xycoords=across, textcoords="offset points", ha="center", va="top",
            fontsize=style.SMALL_PT, annotation_clip=False,
        )  # fmt: skip
