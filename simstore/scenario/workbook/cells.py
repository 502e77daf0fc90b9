"""Cells of any workbook as text, and how large one may be."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Final

MOST_BYTES: Final = 100_000_000
"""A list, or a workbook once it is unpacked, is not larger."""
MOST_ROWS: Final = 200_000
MOST_COLUMNS: Final = 200


def cell_text(cell: Any) -> str:
    """Write the value of a workbook's cell as text; a date year first, a number with a point."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{cell:.12g}"
    return str(cell).strip()
