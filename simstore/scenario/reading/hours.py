"""What the readers of climate files share: hours with gaps, numbers in cells, and when clocks are changed."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simstore.errors import Problem

DAYS_IN_YEAR = 365


@dataclass(slots=True)
class Hours:
    """What a reader found: NaN where an hour is missing, and the line that each hour stands in.

    Attributes
    ----------
    temp_c, rh_pct : ndarray, shape (hours,)
    lines : list of int
        Line of the file that the hour was read from, or of the row before the gap.
    labels : list of str
        The hour as the user would look it up.
    """

    temp_c: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
    rh_pct: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
    lines: list[int] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)
    first_day_of_year: int = 1
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def is_clock_change(label: str) -> bool:
    """Tell whether the hour of ``2026-03-29 02:00`` is one in which clocks are put forward or back: early on a Sunday.

    An hour of a typical year has no weekday and is none.
    """
    if label.startswith("month"):
        return False
    stamp = np.datetime64(label[:10], "D")
    sunday = (int(stamp.astype(np.int64)) + 3) % 7 == 6
    return sunday and label[5:7] in {"03", "04", "09", "10", "11"} and label[11:13] in {"00", "01", "02", "03"}


def number_in(text: str, low: float, high: float) -> float | tuple[str, str]:
    """Value of a cell, NaN if it is empty; otherwise what is wrong and the cure."""
    if text == "" or text.lower() == "nan":
        return float("nan")
    if not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", text):
        if re.fullmatch(r"[+-]?\d+,\d+", text):
            return "has a decimal comma", f"write {text.replace(',', '.')}"
        return "is not a number", "correct it, or leave the cell empty for a missing value"
    value = float(text)
    if not low <= value <= high:
        return f"is out of range, {low:g}..{high:g}", "correct it, or leave the cell empty for a missing value"
    return value
