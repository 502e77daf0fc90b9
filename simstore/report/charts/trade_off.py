"""What a better held store costs: plans by annual cost and held share, and hours by excess."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from simstore.prose.phrases import NBSP, begun, figures, number, percent
from simstore.report.charts import style
from simstore.report.charts.picture import Picture

_LEFT_IN: Final = 0.65
_BODY_IN: Final = 4.0


_Box = tuple[float, float, float, float]
"""Left, lower, right and upper edge of a text or mark. [pt]"""


def tradeoff(
    points: pd.DataFrame, *, standard_pct: float, currency: str, what: str, source: str = "", marked: str = "chosen"
) -> Picture:
    """Draw plans by annual-equivalent cost and held share, with the front of those that none beats on both.

    Parameters
    ----------
    points : DataFrame
        One row a plan: ``label``; ``cost_mean, cost_low, cost_high`` [currency a year]; ``held_mean, held_low,
        held_high`` [% of object-days]; ``on_front`` (bool); ``role`` ("chosen", "today" or empty).
    standard_pct : float
        Share of object-days that must be held. [%]
    currency : str
    what : str
        Which object-days the held share counts, as "iron".
    source : str
    marked : str
        What the plan with the role "chosen" is: "chosen", or "cheapest" where no choice follows from it.
    """
    title = _tradeoff_finding(points, standard_pct, currency, what, marked)
    with style.look():
        sheet = style.Sheet(
            title,
            body_in=_BODY_IN,
            explained="Each point is a plan with the interval of its mean. The line joins those that no other beats "
            "on both counts; hollow ones are beaten.",
            source=source,
        )
        axes = sheet.axes(left_in=_LEFT_IN, top_in=0.1, width_in=style.WIDTH_IN - _LEFT_IN - 0.25, height_in=3.35)
        front = points[points["on_front"]].sort_values("cost_mean", kind="stable")
        axes.errorbar(
            points["cost_mean"],
            points["held_mean"],
            xerr=_arms(points, "cost"),
            yerr=_arms(points, "held"),
            fmt="none",
            ecolor=style.GREY,
            elinewidth=0.7,
        )
        axes.plot(front["cost_mean"], front["held_mean"], color=style.STEEL, linewidth=1.2, zorder=1.5, label="front")
        _marks(axes, points)
        low = min(float(points["held_low"].min()), standard_pct)
        high = max(float(points["held_high"].max()), standard_pct)
        axes.set_ylim(low - 0.08 * (high - low + 0.1), high + 0.12 * (high - low + 0.1))
        left, right = float(points["cost_low"].min()), float(points["cost_high"].max())
        reach = (right - left) or max(1.0, abs(right))
        axes.set_xlim(left - 0.06 * reach, right + 0.06 * reach)
        axes.axhline(standard_pct, color=style.RUST, linewidth=1.1, linestyle=style.LINES[1], label="standard")
        _name_points(axes, points, _name_standard(axes, points, standard_pct), marked)
        axes.set_xlabel(f"annual-equivalent cost, {currency} a year")
        axes.set_ylabel(f"{what} object-days held, %")
        axes.xaxis.set_major_formatter(lambda value, _: number(value))
        style.rules(axes, "both")
    return Picture("tradeoff", title, f"Cost against held share of {len(points)} plans. {title}.", sheet.figure, points)


def _arms(points: pd.DataFrame, name: str) -> np.ndarray:
    mean = points[f"{name}_mean"].to_numpy(dtype=np.float64)
    low, high = (points[f"{name}_{end}"].to_numpy(dtype=np.float64) for end in ("low", "high"))
    return np.asarray(np.maximum(np.vstack([mean - low, high - mean]), 0.0))


def _marks(axes: Axes, points: pd.DataFrame) -> None:
    """Draw each plan as a mark: on the front filled, off it hollow, chosen and today larger."""
    role = points["role"].fillna("")
    plain = points[role == ""]
    for rows, face in (
        (plain[plain["on_front"].astype(bool)], style.STEEL),
        (plain[~plain["on_front"].astype(bool)], "white"),
    ):
        axes.plot(
            rows["cost_mean"], rows["held_mean"], "o", markersize=5, markerfacecolor=face,
            markeredgecolor=style.STEEL, markeredgewidth=1.0,
        )  # fmt: skip
    for name, mark, colour in (("today", "s", style.RUST), ("chosen", "D", style.PETROL)):
        rows = points[role == name]
        axes.plot(rows["cost_mean"], rows["held_mean"], mark, markersize=8, color=colour, label=name)


def _spots(axes: Axes, points: pd.DataFrame) -> list[tuple[float, float]]:
    """Where the marks are, in points from the lower left corner."""
    left, right = axes.get_xlim()
    bottom, top = axes.get_ylim()
    width_pt, height_pt = style.size_pt(axes)
    return [
        (width_pt * (x - left) / (right - left), height_pt * (y - bottom) / (top - bottom))
        for x, y in zip(points["cost_mean"], points["held_mean"], strict=True)
    ]


def _name_standard(axes: Axes, points: pd.DataFrame, standard_pct: float) -> _Box:
    """Name the line of the standard at an end, above or below, where no mark stands; give the place that this takes."""
    text = f"standard {percent(standard_pct)}"
    width_pt, height_pt = style.size_pt(axes)
    bottom, top = axes.get_ylim()
    line_pt = height_pt * (standard_pct - bottom) / (top - bottom)
    wide, tall = style.width_pt(text, size_pt=style.SMALL_PT), style.SMALL_PT
    marks = [(x - 6, y - 6, x + 6, y + 6) for x, y in _spots(axes, points)]
    boxes = [
        (at_x, at_y, at_x + wide, at_y + tall)
        for at_y in (line_pt + 3, line_pt - 3 - tall)
        for at_x in (4.0, width_pt - 4 - wide)
    ]
    free = [box for box in boxes if box[1] > 0 and not any(_overlap(box, mark) for mark in marks)]
    box = (free or boxes)[0]
    axes.annotate(
        text, (0, 0), (box[0], box[1] + 0.15 * tall), xycoords="axes fraction", textcoords="offset points",
        color=style.RUST, fontsize=style.SMALL_PT,
    )  # fmt: skip
    return box


def _name_points(axes: Axes, points: pd.DataFrame, standard: _Box, marked: str) -> None:
    """Name chosen and today's plan beside their marks, on the side where there is room, and the front in small.

    Where there is no room for the whole name of one of these two it is left at "Chosen".
    """
    width_pt, height_pt = style.size_pt(axes)
    role = points["role"].fillna("")
    spots = _spots(axes, points)
    taken: list[_Box] = [standard, *((x - 5, y - 5, x + 5, y + 5) for x, y in spots)]
    order = sorted(range(len(points)), key=lambda i: (role.iloc[i] == "", not bool(points["on_front"].iloc[i]), i))
    for i in order:
        special = role.iloc[i] != ""
        if not special and not bool(points["on_front"].iloc[i]):
            continue
        label = str(points["label"].iloc[i])
        size = style.TEXT_PT if special else style.SMALL_PT
        texts = [label]
        if special:
            word = begun(marked if role.iloc[i] == "chosen" else str(role.iloc[i]))
            texts = [f"{word}: {label}", word]
        placed = ((text, box) for text in texts for box in _boxes_beside(spots[i], text, size, bold=special))
        for text, box in placed:
            inside = box[0] > 0 and box[2] < width_pt + 12 and box[1] > 0 and box[3] < height_pt + 6
            if inside and not any(_overlap(box, other) for other in taken):
                taken.append(box)
                axes.annotate(
                    text, (0, 0), (box[0], box[1] + 0.24 * size), xycoords="axes fraction",
                    textcoords="offset points", fontsize=size, fontweight="bold" if special else "normal",
                    annotation_clip=False, color=style.INK if special else style.GREY,
                )  # fmt: skip
                break


def _boxes_beside(spot: tuple[float, float], text: str, size_pt: float, *, bold: bool) -> list[_Box]:
    """Places for a text beside a mark, the best first."""
    x, y = spot
    wide, tall = style.width_pt(text, size_pt=size_pt, bold=bold), size_pt * 1.2
    corners = [
        (x + 8, y - 1.15 * tall), (x + 8, y + 0.2 * tall), (x - 8 - wide, y + 0.2 * tall),
        (x - 8 - wide, y - 1.15 * tall), (x - wide / 2, y - 2.1 * tall), (x - wide / 2, y + 1.0 * tall),
    ]  # fmt: skip
    return [(left, low, left + wide, low + tall) for left, low in corners]


def _overlap(one: _Box, other: _Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _tradeoff_finding(points: pd.DataFrame, standard_pct: float, currency: str, what: str, marked: str) -> str:
    chosen, today = (points[points["role"] == role] for role in ("chosen", "today"))
    if chosen.empty:
        best = points.iloc[int(points["held_mean"].to_numpy().argmax())]
        return (
            f"No plan holds {what} for {percent(standard_pct)} of object-days; the best, {best['label']}, holds "
            f"{percent(float(best['held_mean']), beside=standard_pct)}"
        )
    row = chosen.iloc[0]
    held = percent(float(row["held_mean"]), beside=standard_pct)
    price = f"{number(row['cost_mean'])}{NBSP}{currency}"
    name, verb = "The chosen plan", "holds"
    if marked != "chosen":
        name, verb = f"The {marked} of these plans that hold", "keeps"
    text = f"{name} {verb} {what} on {held} of object-days for {price} a year"
    if today.empty:
        return text
    now = today.iloc[0]
    more = float(row["cost_mean"] - now["cost_mean"])
    than = f"{number(abs(more))}{NBSP}{currency} {'more' if more > 0 else 'less'} than"
    if round(more) == 0:
        than = "as much as"
    return f"{text}, {than} today's plan, which holds {percent(float(now['held_mean']))}"


def hours_and_excess(points: pd.DataFrame, *, source: str = "") -> Picture:
    """Draw how the excess over the ceilings falls with staff hours.

    Parameters
    ----------
    points : DataFrame
        One row a plan: ``label``, ``hours_per_week``, ``excess_mean, excess_low, excess_high`` [%RH days a year, sum
        over enclosures], ``role`` ("chosen", "today" or empty).
    source : str
    """
    ordered = points.sort_values("hours_per_week", kind="stable")
    first, last = ordered.iloc[0], ordered.iloc[-1]
    title = (
        f"From {figures(float(first['hours_per_week']))} to {figures(float(last['hours_per_week']))} staff hours "
        "a week, "
        f"the excess over the ceilings goes from {figures(float(first['excess_mean']))} to "
        f"{figures(float(last['excess_mean']))} %RH{NBSP}days a year"
    )
    with style.look():
        sheet = style.Sheet(title, body_in=3.2, explained="Mean and interval; every point is a plan.", source=source)
        axes = sheet.axes(left_in=_LEFT_IN, top_in=0.1, width_in=style.WIDTH_IN - _LEFT_IN - 0.25, height_in=2.55)
        axes.errorbar(
            ordered["hours_per_week"], ordered["excess_mean"], yerr=_arms(ordered, "excess"), color=style.STEEL,
            ecolor=style.GREY, elinewidth=0.8, marker="o", markersize=5, linewidth=1.2,
        )  # fmt: skip
        most = float(ordered["hours_per_week"].max())
        axes.set_xlim(0, 1.12 * most)
        axes.set_ylim(0, 1.12 * max(float(ordered["excess_high"].max()), 1.0))
        for name, mark, colour in (("today", "s", style.RUST), ("chosen", "D", style.PETROL)):
            for _, row in ordered[ordered["role"] == name].iterrows():
                axes.plot(
                    [row["hours_per_week"]],
                    [row["excess_mean"]],
                    mark,
                    markersize=8,
                    color=colour,
                    label=name,
                    zorder=5,
                )
                axes.annotate(
                    f"{begun(name)}: {row['label']}", (row["hours_per_week"], row["excess_mean"]), (7, 7),
                    textcoords="offset points", fontweight="bold", annotation_clip=False,
                )  # fmt: skip
        axes.set_xlabel("staff hours a week")
        axes.set_ylabel("excess, %RH days a year")
        axes.yaxis.set_major_formatter(lambda value, _: number(value))
        style.rules(axes)
    return Picture("hours_and_excess", title, f"Excess by staff hours. {title}.", sheet.figure, ordered)
