"""Which uncertain input moves the result most, and so what to measure first."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from simstore.prose.phrases import NBSP, begun, figures, with_unit
from simstore.report.charts import style
from simstore.report.charts.picture import Picture

_ROW_IN: Final = 0.34
_NAME_IN: Final = 2.1
_END_PT: Final = style.SMALL_PT - 0.5
_DIGITS: Final = 3
"""Figures of an end of a range: 1.05 must not become 1.1."""


def what_to_measure(
    rows: pd.DataFrame, *, base: float, result: str, unit: str, limit: float | None = None, source: str = ""
) -> Picture:
    """Draw how far the result moves over the range of each input, widest first.

    Parameters
    ----------
    rows : DataFrame
        One row an input: ``label``, ``unit``, ``low_value, high_value`` (range that is believed, in the unit),
        ``at_low, at_high`` (result at these), ``changes_decision`` (bool: another plan would be chosen within it);
        ``examined`` (bool, may be missing: whether that was worked out; else it was for all); ``measure_first`` (bool,
        may be missing: the one that is most worth knowing, if any is worth it; else the widest that decides).
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
    marked = ordered[ordered["measure_first"].astype(bool)] if "measure_first" in ordered else deciding
    stamps = _stamps(ordered, deciding, marked)
    title = _measure_finding(ordered, deciding, marked, result, unit)
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
        room_in = _widest_end_in(ordered)
        width_in = style.size_pt(axes)[0] / 72.0
        pad = reach * room_in / (width_in - 2.0 * room_in)
        axes.set_xlim(lowest - pad, highest + pad)
        axes.set_ylim(len(rows), 0)
        for place, ((_, row), (stamp, colour, weight)) in enumerate(zip(ordered.iterrows(), stamps, strict=True)):
            _bar(axes, row, place + 0.5, base)
            axes.annotate(
                stamp, (1, place + 0.5), (6, 0), xycoords=("axes fraction", "data"), textcoords="offset points",
                va="center", fontsize=style.SMALL_PT, annotation_clip=False, color=colour, fontweight=weight,
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


def _stamps(ordered: pd.DataFrame, deciding: pd.DataFrame, marked: pd.DataFrame) -> list[tuple[str, str, str]]:
    """Say beside each input what it does to the decision, with colour and weight.

    "Measure this first" stands only where that is worth something; else the widest is said to move the result most.
    """
    first = marked.index[0] if len(marked) else None
    found = []
    for place, (index, row) in enumerate(ordered.iterrows()):
        if index == first:
            found.append(("measure this first", style.RUST, "bold"))
        elif index in deciding.index:
            found.append(("may change the plan", style.RUST, "normal"))
        elif place == 0 and first is None and row["spread"] > 0:
            found.append(("moves it most", style.INK, "bold"))
        else:
            found.append(("", style.INK, "normal"))
    return found


def _end_said(row: pd.Series, end: str) -> str:
    return with_unit(figures(float(row[f"{end}_value"]), _DIGITS), str(row["unit"]))


def _widest_end_in(ordered: pd.DataFrame) -> float:
    """Room that the longest label of an end needs beside its bar. [in]."""
    said = [_end_said(row, end) for _, row in ordered.iterrows() for end in ("low", "high")]
    return max(style.width_pt(text, size_pt=_END_PT) for text in said) / 72.0 + 0.12


def _bar(axes: Axes, row: pd.Series, y: float, base: float) -> None:
    """Draw one input: a light bar to the result at its low end, a dark one to that at its high end."""
    for end, colour in (("low", style.STEEL), ("high", style.PETROL)):
        at = float(row[f"at_{end}"])
        axes.barh([y], [at - base], left=base, height=0.5, color=colour, label=f"{row['label']} {end}")
        same_side = (float(row["at_low"]) - base) * (float(row["at_high"]) - base) > 0
        outer = abs(at - base) >= max(abs(float(row["at_low"]) - base), abs(float(row["at_high"]) - base))
        if same_side and not outer:
            continue
        other = float(row["at_high" if end == "low" else "at_low"])
        right = at > base or (at == base and (other < base or (other == base and end == "high")))
        axes.annotate(
            _end_said(row, end), (at, y), (3 if right else -3, 0), textcoords="offset points",
            ha="left" if right else "right", va="center", fontsize=_END_PT, annotation_clip=False,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
        )  # fmt: skip


def _measure_finding(
    ordered: pd.DataFrame, deciding: pd.DataFrame, marked: pd.DataFrame, result: str, unit: str
) -> str:
    if len(marked):
        row = marked.iloc[0]
        return (
            f"Measure {row['label']} first: between {figures(float(row['low_value']), _DIGITS)} and "
            f"{_end_said(row, 'high')} another plan would be chosen"
        )
    row = ordered.iloc[0]
    moves = f"{row['label']} moves {result} most, by {figures(float(row['spread']))}{NBSP}{unit}"
    if row["spread"] == 0:
        moves = f"none of those drawn moves {result}"
    examined = int(ordered["examined"].sum()) if "examined" in ordered else len(ordered)
    if not examined:
        return begun(moves)
    which = "The input that moves most" if examined == 1 else f"None of the {examined} inputs that move most"
    if len(deciding):
        return f"{which} is {'not ' if examined == 1 else ''}worth knowing first; {moves}"
    return f"{which} {'does not change' if examined == 1 else 'changes'} the plan; {moves}"
