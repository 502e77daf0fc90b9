"""Which uncertain input moves the result most, and so what to measure first."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from simstore.report import style
from simstore.report.phrases import NBSP, begun, figures, with_unit
from simstore.report.picture import Picture

_ROW_IN: Final = 0.34
_NAME_IN: Final = 2.1


def what_to_measure(
    rows: pd.DataFrame, *, base: float, result: str, unit: str, limit: float | None = None, source: str = ""
) -> Picture:
    """Draw how far the result moves over the range of each input, widest first.

    Parameters
    ----------
    rows : DataFrame
        One row an input: ``label``, ``unit``, ``low_value, high_value`` (range that is believed, in the unit),
        ``at_low, at_high`` (result at these), ``changes_decision`` (bool: another plan would be chosen within it);
        ``measure_first`` (bool, may be missing: the one that is most worth knowing; else the widest that decides).
    base : float
        Result at the values in use.
    result, unit : str
        What the result is, and its unit.
    limit : float, optional
        The standard that the result is held against.
    source : str
    """
    spread = (rows["at_high"] - rows["at_low"]).abs()
    ordered = rows.assign(spread=spread).sort_values("spread", ascending=False, kind="stable")
    deciding = ordered[ordered["changes_decision"].astype(bool)]
    marked = ordered[ordered["measure_first"].astype(bool)] if "measure_first" in ordered else ordered.iloc[:0]
    first = str((marked if len(marked) else deciding if len(deciding) else ordered)["label"].iloc[0])
    title = _measure_finding(ordered, marked if len(marked) else deciding, result, unit)
    with style.look():
        height_in = _ROW_IN * len(rows)
        sheet = style.Sheet(
            title,
            body_in=0.3 + height_in + 0.5,
            explained=f"{begun(result)} at the low (light) and high (dark) end of what is believed of each input, "
            "others as in use.",
            source=source,
        )
        axes = sheet.axes(left_in=_NAME_IN, top_in=0.3, width_in=style.WIDTH_IN - _NAME_IN - 1.35, height_in=height_in)
        lowest = float(
            np.nanmin([ordered["at_low"].min(), ordered["at_high"].min(), base, base if limit is None else limit])
        )
        highest = float(
            np.nanmax([ordered["at_low"].max(), ordered["at_high"].max(), base, base if limit is None else limit])
        )
        reach = (highest - lowest) or 1.0
        axes.set_xlim(lowest - 0.22 * reach, highest + 0.22 * reach)
        axes.set_ylim(len(rows), 0)
        for place, (_, row) in enumerate(ordered.iterrows()):
            _bar(axes, row, place + 0.5, base)
            notes = [] if row["label"] != first else ["measure this first"]
            if bool(row["changes_decision"]) and not notes:
                notes = ["may change the plan"]
            axes.annotate(
                "".join(notes), (1, place + 0.5), (4, 0), xycoords=("axes fraction", "data"),
                textcoords="offset points", va="center", fontsize=style.SMALL_PT, annotation_clip=False,
                color=style.RUST, fontweight="bold" if row["label"] == first else "normal",
            )  # fmt: skip
        axes.axvline(base, color=style.INK, linewidth=1.0)
        if limit is not None:
            axes.axvline(limit, color=style.RUST, linewidth=1.1, linestyle=style.LINES[1], label="standard")
            axes.annotate(
                "standard", (limit, 1), (0, 4), xycoords=("data", "axes fraction"), textcoords="offset points",
                ha="center", color=style.RUST, fontsize=style.SMALL_PT,
            )  # fmt: skip
        labels = [
            style.shortened(begun(str(label)), room_in=_NAME_IN - 0.15, size_pt=style.TEXT_PT)
            for label in ordered["label"]
        ]
        axes.set_yticks(np.arange(len(rows)) + 0.5, labels, fontsize=style.TEXT_PT)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(f"{result}, {unit}")
        axes.spines["left"].set_visible(False)
        style.rules(axes, "x")
    return Picture("what_to_measure", title, f"{title}.", sheet.figure, ordered)


def _bar(axes: Axes, row: pd.Series, y: float, base: float) -> None:
    """Draw one input: a light bar to the result at its low end, a dark one to that at its high end."""
    for end, colour in (("low", style.STEEL), ("high", style.PETROL)):
        at = float(row[f"at_{end}"])
        axes.barh([y], [at - base], left=base, height=0.5, color=colour, label=f"{row['label']} {end}")
        same_side = (float(row["at_low"]) - base) * (float(row["at_high"]) - base) > 0
        outer = abs(at - base) >= max(abs(float(row["at_low"]) - base), abs(float(row["at_high"]) - base))
        if same_side and not outer:
            continue
        text = with_unit(figures(float(row[f"{end}_value"])), str(row["unit"]))
        other = float(row["at_high" if end == "low" else "at_low"])
        right = at > base or (at == base and (other < base or (other == base and end == "high")))
        axes.annotate(
            text, (at, y), (3 if right else -3, 0), textcoords="offset points", ha="left" if right else "right",
            va="center", fontsize=style.SMALL_PT - 0.5, annotation_clip=False,
        )  # fmt: skip


def _measure_finding(ordered: pd.DataFrame, deciding: pd.DataFrame, result: str, unit: str) -> str:
    if len(deciding):
        row = deciding.iloc[0]
        return (
            f"Measure {row['label']} first: between {figures(float(row['low_value']))} and "
            f"{with_unit(figures(float(row['high_value'])), str(row['unit']))} another plan would be chosen"
        )
    row = ordered.iloc[0]
    return (
        f"No input within its range changes the plan; {row['label']} moves {result} most, by "
        f"{figures(float(row['spread']))}{NBSP}{unit}"
    )
