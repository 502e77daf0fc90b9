"""What was learnt of leaks: each kind before and after, and measured beside predicted."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from simstore.report.charts import style
from simstore.report.charts.picture import Picture


def leak_by_kind(kinds: pd.DataFrame, leaks: pd.DataFrame, *, source: str = "") -> Picture:
    """Draw the leak of each kind before and after, with every measured enclosure.

    Parameters
    ----------
    kinds, leaks : DataFrame
        Tables of a fit.
    source : str
    """
    moved = kinds.assign(times=kinds["median_per_day"] / kinds["before_per_day"])
    most = moved.iloc[int(np.abs(np.log(moved["times"])).to_numpy().argmax())]
    title = (
        f"{str(most['kind']).replace('_', ' ').capitalize()}: {most['median_per_day']:.2g} air changes a day, "
        f"{most['before_per_day']:.2g} were taken before"
    )
    with style.look():
        sheet = style.Sheet(
            title,
            body_in=0.75 + 0.55 * len(kinds),
            explained="Bar: middle of the kind, nine times in ten within it. Open diamond: before. Dots: enclosures.",
            source=source,
        )
        axes = sheet.axes(left_in=1.6, top_in=0.1, width_in=style.WIDTH_IN - 1.8, height_in=0.2 + 0.55 * len(kinds))
        axes.set_xscale("log")
        ends = kinds[["low_per_day", "median_per_day", "high_per_day", "before_per_day"]].to_numpy(float)
        for place, (kind, (low, middle, high, before)) in enumerate(zip(kinds["kind"], ends, strict=True)):
            own = leaks[leaks["kind"] == kind]
            spread = np.linspace(-0.16, 0.16, max(len(own), 2))[: len(own)]
            axes.plot(own["leak_per_day"], place + spread, "o", color=style.STEEL, markersize=2.5, alpha=0.8)
            axes.plot([low, high], [place, place], color=style.PETROL, linewidth=5, alpha=0.9)
            axes.plot(middle, place, "|", color="white", markersize=8, markeredgewidth=1.5)
            axes.plot(before, place, "D", color=style.RUST, markerfacecolor="none", markersize=6)
        axes.set_yticks(range(len(kinds)), [str(kind).replace("_", " ") for kind in kinds["kind"]])
        axes.set_ylim(len(kinds) - 0.5, -0.5)
        axes.set_xlabel("air changes a day, innermost layer")
        every = np.concatenate([ends.ravel(), leaks["leak_per_day"].to_numpy(float)])
        axes.set_xlim(every.min() / 1.15, every.max() * 1.15)
        axes.set_xticks(_round_figures(every.min() / 1.15, every.max() * 1.15))
        axes.minorticks_off()
        axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    return Picture("leak_by_kind", title, f"{title}.", sheet.figure, kinds)


def _round_figures(low: float, high: float) -> list[float]:
    """List 1, 2 and 5 times powers of ten between two ends."""
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    every = (digit * 10.0**power for power in range(first, last + 1) for digit in (1, 2, 5))
    return [value for value in every if low <= value <= high]


def measured_and_predicted(rows: pd.DataFrame, *, source: str = "") -> Picture:
    """Draw the water that packets took up, measured against predicted at the leak that was found."""
    weighed = rows.dropna(subset=["wet_g", "predicted_g"])
    measured, predicted = weighed["wet_g"].to_numpy(float), weighed["predicted_g"].to_numpy(float)
    away = np.abs(measured - predicted)
    title = f"Half of the {len(weighed)} weighings are within {np.median(away):.2g} g of what the leaks found predict"
    with style.look():
        sheet = style.Sheet(title, body_in=3.3, explained="On the line: as predicted.", source=source)
        axes = sheet.axes(left_in=0.7, top_in=0.1, width_in=style.WIDTH_IN - 0.9, height_in=2.7)
        low, high = min(measured.min(), predicted.min()), max(measured.max(), predicted.max())
        edge = 0.04 * max(high - low, 1.0)
        ends = [low - edge, high + edge]
        axes.set_xlim(*ends)
        axes.set_ylim(*ends)
        axes.plot(ends, ends, color=style.GREY, linewidth=0.8)
        axes.plot(predicted, measured, "o", color=style.PETROL, markersize=3, markerfacecolor="none")
        axes.set_xlabel("predicted mass of the packets, g")
        axes.set_ylabel("weighed, g")
    return Picture("measured_and_predicted", title, f"{title}.", sheet.figure, weighed)
