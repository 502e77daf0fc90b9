"""Lines of text for the terminal: columns, wrapping, numbers and shares."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from typing import Final

WIDTH: Final = 80


def aligned(rows: Iterable[Sequence[str]]) -> str:
    """Lay out rows in columns: the first to the left, the others to the right, an unnamed last one to the left."""
    laid = [list(row) for row in rows]
    widths = [max(len(row[column]) for row in laid) for column in range(len(laid[0]))]
    tail = len(widths) - 1 if laid[0][-1] == "" else len(widths)
    lines = []
    for row in laid:
        cells = [
            cell.ljust(width) if place == 0 or place >= tail else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def wrapped(text: str, first: str = "", then: str = "") -> str:
    """Break a text into lines of at most 80 characters."""
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)


def listed(items: Sequence[str]) -> str:
    """Join as in "a, b and c"."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def number(value: float, decimals: int) -> str:
    """Write a number with spaces between thousands, never as -0; "-" for NaN."""
    return "-" if math.isnan(value) else f"{round(value, decimals) + 0.0:,.{decimals}f}".replace(",", " ")


def signed(value: float, decimals: int) -> str:
    """Write a difference with its sign; one that rounds to nothing has none."""
    text = number(value, decimals)
    return f"+{text}" if value > 0 and float(text.replace(" ", "")) > 0 else text


def share_said(value: float) -> str:
    """Say a share so that it never rounds up to 100 %."""
    return f"{math.floor(100 * value + 1e-9) / 100:.2f} %"


def share_limits_said(low: float, high: float) -> str:
    """Say the limits of a share, rounded outwards to two decimals, and within 0 and 100 %."""
    least = math.floor(100 * max(low, 0.0) + 1e-9) / 100
    most = math.ceil(100 * min(high, 100.0) - 1e-9) / 100
    return f"{least:.2f} to {most:.2f}"
