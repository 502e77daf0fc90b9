"""Paired differences between two plans, and what one more of something buys."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from simstore.prose.phrases import MINUS, NBSP, begun, figures, number, with_unit
from simstore.report.charts import style
from simstore.report.charts.picture import Picture

_ROW_IN: Final = 0.30
_NAME_IN: Final = 2.05


def _decided(low: float, high: float) -> bool:
    return low > 0.0 or high < 0.0


def _judgement(row: pd.Series) -> str:
    """Say whether a difference is better, worse, merely other, or not decided."""
    if not _decided(float(row["low"]), float(row["high"])):
        return "undecided"
    if row["better"] not in ("lower", "higher"):
        return "other"
    return "better" if (float(row["mean"]) < 0) == (row["better"] == "lower") else "worse"


_LOOKS: Final = {
    "better": (style.PETROL, style.PETROL, "o"),
    "worse": (style.RUST, style.RUST, "s"),
    "other": (style.GREY, style.GREY, "o"),
    "undecided": (style.GREY, "white", "o"),
}


def paired_differences(rows: pd.DataFrame, *, first: str, second: str, source: str = "") -> Picture:
    """Draw what changes from plan ``second`` to plan ``first`` under the same luck, each metric on a scale of its own.

    Parameters
    ----------
    rows : DataFrame
        One row a metric: ``label``, ``unit``, ``mean, low, high`` (of ``first`` minus ``second``, in the unit),
        ``better`` ("lower", "higher" or empty where neither is).
    first, second, source : str
    """
    judged = rows.assign(judgement=[_judgement(row) for _, row in rows.iterrows()])
    title = _difference_finding(judged, first, second)
    with style.look():
        sheet = style.Sheet(
            title,
            body_in=0.35 + _ROW_IN * len(rows),
            explained=f"Plan '{first}' minus '{second}', with intervals, under the same luck. Hollow: may be nothing.",
            source=source,
        )
        axes = sheet.axes(
            left_in=_NAME_IN, top_in=0.28, width_in=style.WIDTH_IN - _NAME_IN - 2.35, height_in=_ROW_IN * len(rows)
        )
        axes.axvline(0.0, color=style.INK, linewidth=0.8)
        axes.set_xlim(-1.05, 1.05)
        axes.set_ylim(len(rows), 0)
        axes.set_xticks([])
        axes.set_yticks([])
        axes.spines[:].set_visible(False)
        for text, x, align in ((f"{MINUS} less", 0.0, "left"), ("more +", 1.0, "right"), ("0", 0.5, "center")):
            axes.annotate(
                text, (x, 1), (0, 4), xycoords="axes fraction", textcoords="offset points", ha=align,
                fontsize=style.SMALL_PT, color=style.GREY,
            )  # fmt: skip
        for place, (_, row) in enumerate(judged.iterrows()):
            _difference_row(axes, row, place + 0.5)
    return Picture("paired_differences", title, f"{title}.", sheet.figure, judged)


def _difference_row(axes: Axes, row: pd.Series, y: float) -> None:
    mean, low, high = (float(row[name]) for name in ("mean", "low", "high"))
    scale = float(np.nanmax(np.abs([mean, low, high]))) or 1.0
    edge, face, mark = _LOOKS[str(row["judgement"])]
    axes.axhline(y + 0.5, color=style.HAIR, linewidth=0.5)
    axes.plot([low / scale, high / scale], [y, y], color=edge, linewidth=2.0, label=str(row["label"]))
    axes.plot([mean / scale], [y], mark, markersize=6.5, markerfacecolor=face, markeredgecolor=edge)
    said = with_unit(figures(mean, sign=True), str(row["unit"]))
    span = "in few runs" if math.isnan(low) else f"{figures(low, sign=True)} to {figures(high, sign=True)}"
    name = style.shortened(str(row["label"]), room_in=_NAME_IN - 0.15, size_pt=style.TEXT_PT)
    for x, text, shift, weight in (
        (0, begun(name), -(_NAME_IN - style.EDGE_IN) * 72, "normal"),
        (1, said, 8, "bold"),
    ):
        axes.annotate(
            text, (x, y if x == 0 else y - 0.18), (shift, 0), xycoords=("axes fraction", "data"),
            textcoords="offset points", va="center", annotation_clip=False, fontweight=weight,
        )  # fmt: skip
    axes.annotate(
        span, (1, y + 0.22), (8, 0), xycoords=("axes fraction", "data"), textcoords="offset points", va="center",
        annotation_clip=False, fontsize=style.SMALL_PT - 0.5, color=style.GREY,
    )  # fmt: skip


def _difference_finding(judged: pd.DataFrame, first: str, second: str) -> str:
    counts = judged["judgement"].value_counts()
    better, worse = (int(counts.get(name, 0)) for name in ("better", "worse"))
    if not better and not worse:
        return f"Plan '{first}' is neither better nor worse than '{second}' in anything that these runs can tell"
    decided = judged[judged["judgement"].isin(["better", "worse"])].head(2)
    changes = [
        f"{label} {with_unit(figures(float(mean), sign=True), unit)}"
        for label, mean, unit in zip(decided["label"], decided["mean"], decided["unit"], strict=True)
    ]
    return (
        f"Plan '{first}' instead of '{second}': {', '.join(changes)}; better in {better} of {len(judged)} measures, "
        f"worse in {worse}"
    )


def what_more_buys(rows: pd.DataFrame, *, currency: str, what: str, source: str = "") -> Picture:
    """Draw what each addition to the plan buys and costs, best gain first.

    Parameters
    ----------
    rows : DataFrame
        One row an addition: ``label`` ("one more oven"); ``gain_mean, gain_low, gain_high`` (change of the held share,
        percentage points); ``cost_mean, cost_low, cost_high`` (change of the annual-equivalent cost, currency a year).
    currency : str
    what : str
        Which object-days the gain counts, as "iron".
    source : str
    """
    ordered = rows.sort_values("gain_mean", ascending=False, kind="stable")
    title = _marginal_finding(ordered, currency, what)
    with style.look():
        height_in = 0.34 * len(rows)
        sheet = style.Sheet(
            title,
            body_in=0.3 + height_in + 0.5,
            explained="Change against the plan as it is, with intervals. Hollow: may be nothing.",
            source=source,
        )
        width_in = (style.WIDTH_IN - _NAME_IN - 0.6) / 2
        panels = (
            ("gain", "object-days held", "percentage points", 0.0),
            ("cost", "cost with capital", f"{currency} a year", width_in + 0.5),
        )
        for key, head, unit, shift_in in panels:
            axes = sheet.axes(left_in=_NAME_IN + shift_in, top_in=0.3, width_in=width_in, height_in=height_in)
            _marginal_panel(axes, ordered, key, unit)
            style.heading(axes, begun(head))
            if key == "gain":
                labels = [
                    style.folded(begun(str(label)), room_in=_NAME_IN - 0.15, size_pt=style.SMALL_PT, most=2)
                    for label in ordered["label"]
                ]
                axes.set_yticks(np.arange(len(rows)) + 0.6, labels, fontsize=style.SMALL_PT, linespacing=1.1)
            else:
                axes.set_yticks([])
    return Picture("what_more_buys", title, f"{title}.", sheet.figure, ordered)


def _marginal_panel(axes: Axes, ordered: pd.DataFrame, key: str, unit: str) -> None:
    drawn = ordered[[f"{key}_{end}" for end in ("mean", "low", "high")]].to_numpy(dtype=np.float64)
    ends = np.array([0.0, np.nanmin(drawn), np.nanmax(drawn)])
    reach = float(ends.max() - ends.min()) or 1.0
    for place, (_, row) in enumerate(ordered.iterrows()):
        mean, low, high = (float(row[f"{key}_{name}"]) for name in ("mean", "low", "high"))
        good = (mean > 0) == (key == "gain")
        colour = style.PETROL if good else style.RUST
        sure = _decided(low, high)
        y = place + 0.6
        axes.plot([low, high], [y, y], color=colour if sure else style.GREY, linewidth=2.0)
        axes.plot(
            [mean], [y], "o" if good else "s", markersize=6, zorder=5, markerfacecolor=colour if sure else "white",
            markeredgecolor=colour if sure else style.GREY,
        )  # fmt: skip
        axes.annotate(
            figures(mean, sign=True), (mean, y), (0, 6), textcoords="offset points", ha="center",
            fontsize=style.SMALL_PT, annotation_clip=False, zorder=4,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
        )  # fmt: skip
    axes.axvline(0.0, color=style.INK, linewidth=0.8, zorder=1)
    axes.set_xlim(float(ends.min()) - 0.12 * reach, float(ends.max()) + 0.12 * reach)
    axes.set_ylim(len(ordered) + 0.05, 0)
    axes.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    axes.xaxis.set_major_formatter(lambda value, _: figures(value, sign=True))
    axes.set_xlabel(unit)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    style.rules(axes, "x")


def _marginal_finding(ordered: pd.DataFrame, currency: str, what: str) -> str:
    best = ordered.iloc[0]
    if not float(best["gain_low"]) > 0.0:  # nor where the runs cannot tell
        return f"None of these additions surely holds more {what} object-days"
    cost = float(best["cost_mean"])
    price = f"{'for' if cost >= 0 else 'and'} {number(abs(cost))}{NBSP}{currency} {'more' if cost >= 0 else 'less'}"
    return (
        f"{begun(str(best['label']))} would buy most: {figures(float(best['gain_mean']), sign=True)} percentage points "
        f"of {what} object-days held, {price} a year"
    )
