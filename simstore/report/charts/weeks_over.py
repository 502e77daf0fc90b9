"""Which enclosures were over their ceiling, and in which weeks."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from numpy.typing import NDArray

from simstore.prose.chart_titles import weeks_finding
from simstore.prose.phrases import NBSP, begun, figures, number, plan_said, source_line
from simstore.report.charts import style
from simstore.report.charts.months import month_axis
from simstore.report.charts.picture import Picture
from simstore.results.pooled import hours_over_weeks, of_plan
from simstore.scenario.values.settings import Settings
from simstore.units import DAYS_PER_WEEK

ROWS: Final = 40
"""Enclosures that are drawn unless told otherwise; 60 just fill a page."""
STEPS_H: Final = (0.0, 24.0, 72.0, 120.0, 168.0)
"""Bounds of the classes of hours over in a week: up to one, three, five and seven days."""
_SHADE_OF_CLASS: Final = ("#e6d3b3", "#d99a4e", "#a63d1d", "#4a1508")
_LEFT_IN: Final = 1.25
_RIGHT_IN: Final = 0.72
_ROW_IN: Final = 0.13
_HEAD_IN: Final = 0.30
_NONE_IN: Final = 0.20


def weeks_over(
    tables: Mapping[str, pd.DataFrame], settings: Settings, *, plan: str, days: int, rows: int = ROWS
) -> Picture:
    """Draw hours over the ceiling by enclosure and week, the worst ``rows`` enclosures, apart by metal class.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables ``weeks`` and ``enclosures``.
    settings : Settings
        Metals (labels, ceilings) and start.
    plan : str
    days : int
        Length of a run.
    rows : int
        Most enclosures that are drawn; the others are counted.
    """
    enclosures = of_plan(tables, "enclosures", plan)
    replications = int(enclosures["replication"].nunique())
    table = hours_over_weeks(of_plan(tables, "weeks", plan), enclosures, days=days)
    worst = table[table["ever"] > 0].sort_values("hours_over", ascending=False, kind="stable").head(rows)
    order = sorted(set(table["metal"]), key=lambda m: (settings.metals[m].ceiling_rh_pct, m))
    passed = [(settings.metals[m].label, float(table.loc[table.metal == m, "ever"].sum())) for m in order]
    sizes = [int((table.metal == m).sum()) for m in order]
    title = weeks_finding([(*p, size) for p, size in zip(passed, sizes, strict=True)], replications)
    explained = f"{plan_said(settings, plan)} {_explained(table, len(worst), replications)}"
    blocks = [(m, worst[worst["metal"] == m]) for m in order]
    with style.look():
        heights = [_HEAD_IN + _ROW_IN * len(block) if len(block) else _NONE_IN for _, block in blocks]
        sheet = style.Sheet(
            title,
            body_in=0.25 + sum(heights) + 0.42,
            explained=explained,
            source=source_line(settings.title, settings.note, replications=replications),
        )
        _key(sheet)
        top_in = 0.25
        for place, (metal, block) in enumerate(blocks):
            label = (
                f"{begun(settings.metals[metal].label)}, ceiling {number(settings.metals[metal].ceiling_rh_pct)} %RH"
            )
            count, size = passed[place][1], sizes[place]
            if block.empty:
                none = "none passed it" if count == 0 else f"{figures(count)} passed it, none among the worst"
                sheet.text(f"{label}: {none} (of {number(size)})", left_in=style.EDGE_IN, top_in=top_in + 0.04)
            else:
                axes = sheet.axes(
                    left_in=_LEFT_IN,
                    top_in=top_in + _HEAD_IN,
                    width_in=style.WIDTH_IN - _LEFT_IN - _RIGHT_IN,
                    height_in=heights[place] - _HEAD_IN,
                )
                last = all(later.empty for _, later in blocks[place + 1 :])
                _block(axes, block, settings, days=days, last=last)
                style.heading(axes, label)
                axes.annotate(
                    "hours over", (1, 1), (3, 4), xycoords="axes fraction", textcoords="offset points",
                    fontsize=style.SMALL_PT, color=style.GREY, annotation_clip=False,
                )  # fmt: skip
            top_in += heights[place]
            if not block.empty and all(later.empty for _, later in blocks[place + 1 :]):
                top_in += 0.32
    return Picture("weeks_over", title, f"{title}. {explained}", sheet.figure, table)


def _explained(table: pd.DataFrame, drawn: int, replications: int) -> str:
    never = int((table["ever"] == 0).sum())
    runs = "" if replications == 1 else f" in any of {replications} runs"
    text = f"{number(never)} of {number(len(table))} enclosures never passed{runs}"
    others = len(table) - never - drawn
    mean = "" if replications == 1 else " Hours are means of the runs."
    if drawn == 0:
        return f"{text}."
    if drawn == 1 and not others:
        return f"{text}; the one that did is shown.{mean}"
    if others:
        return f"{text}; the {number(drawn)} worst are shown, {number(others)} more are not.{mean}"
    return f"{text}; the {number(drawn)} that did are shown, longest first.{mean}"


def _key(sheet: style.Sheet) -> None:
    """Say what the shades mean, in one line."""
    left_in = _LEFT_IN + 0.15
    sheet.text("Hours over in a week:", left_in=style.EDGE_IN, top_in=0.0, fontsize=style.SMALL_PT)
    for low, high, shade in zip((1, 25, 73, 121), (24, 72, 120, 168), _SHADE_OF_CLASS, strict=True):
        axes = sheet.axes(left_in=left_in, top_in=0.0, width_in=0.22, height_in=0.12)
        axes.set_axis_off()
        axes.axvspan(0, 1, color=shade)
        sheet.text(f"{low} to {high}{NBSP}h", left_in=left_in + 0.27, top_in=0.0, fontsize=style.SMALL_PT)
        left_in += 1.05


def spans_of_class(hours: NDArray[np.float64]) -> list[tuple[int, int, int, int]]:
    """Find runs of weeks of one class along the rows of ``hours``, shape (rows, weeks).

    Returns
    -------
    list of (class from 1, row, first week, week after)
    """
    classes = np.searchsorted(STEPS_H, hours, side="left")
    found = []
    for row, line in enumerate(classes):
        turns = np.flatnonzero(np.diff(line)) + 1
        edges = [0, *turns.tolist(), len(line)]
        for first, after in pairwise(edges):
            if line[first] > 0:
                found.append((int(line[first]), row, first, after))
    return found


def _block(axes: Axes, block: pd.DataFrame, settings: Settings, *, days: int, last: bool) -> None:
    """Draw the enclosures of one metal class."""
    weeks = [name for name in block.columns if name.startswith("week_")]
    spans = spans_of_class(block[weeks].to_numpy(dtype=np.float64))
    for step, shade in enumerate(_SHADE_OF_CLASS, start=1):
        boxes = []
        for kind, row, first, after in spans:
            if kind == step:
                left, right = first * DAYS_PER_WEEK, min(after * DAYS_PER_WEEK, days)
                boxes.append([(left, row + 0.08), (right, row + 0.08), (right, row + 0.92), (left, row + 0.92)])
        if boxes:
            axes.add_collection(PolyCollection(boxes, facecolors=shade, linewidths=0), autolim=False)
    axes.set_ylim(len(block), 0)
    size_pt = 6.5
    axes.set_yticks([])
    for row, (name, hours) in enumerate(zip(block["enclosure"], block["hours_over"], strict=True)):
        label = style.shortened(str(name), room_in=_LEFT_IN - 0.15, size_pt=size_pt)
        for x, text, shift, align in ((0, label, -3, "right"), (1, number(hours) if hours >= 1 else "< 1", 3, "left")):
            axes.annotate(
                text, (x, row + 0.5), (shift, 0), xycoords=("axes fraction", "data"), textcoords="offset points",
                ha=align, va="center", fontsize=size_pt, annotation_clip=False,
            )  # fmt: skip
    axes.spines["left"].set_visible(False)
    month_axis(axes, start=settings.start, days=days, named=last)
