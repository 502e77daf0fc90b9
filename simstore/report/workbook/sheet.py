"""A worksheet that takes text only as text, numbers only if they are finite, and formulas only with their value."""

from __future__ import annotations

import math
from typing import Any, Final

from xlsxwriter.utility import xl_cell_to_rowcol, xl_col_to_name

INK: Final = "#1d2733"
SHADE: Final = "#eef2f4"
MONEY: Final = "#,##0.00"
_LOOKS: Final[dict[str, dict[str, Any]]] = {
    "": {},
    "title": {"bold": True, "font_size": 14},
    "soft": {"font_color": "#545d67"},
    "head": {"bold": True, "bottom": 2, "text_wrap": True, "valign": "bottom"},
    "input": {"bg_color": SHADE, "num_format": "#,##0.####"},
    "input money": {"bg_color": SHADE, "num_format": MONEY},
    "amount": {"num_format": "#,##0.0"},
    "money": {"num_format": MONEY},
    "fine": {"num_format": "0.0000", "font_color": "#545d67"},
    "sum": {"bold": True, "top": 1},
    "sum amount": {"bold": True, "top": 1, "num_format": "#,##0.0"},
    "sum money": {"bold": True, "top": 1, "num_format": MONEY},
    "wrapped": {"text_wrap": True, "valign": "top"},
}


def formats_of(book: Any) -> dict[str, Any]:
    """Make the looks of cells for one workbook."""
    return {name: book.add_format({"font_color": INK, **look}) for name, look in _LOOKS.items()}


class Sheet:
    """One sheet; cells are named as in "B6"."""

    def __init__(self, book: Any, name: str, looks: dict[str, Any]) -> None:
        self._sheet = book.add_worksheet(name)
        self._looks = looks
        self._numbers: dict[str, float] = {}
        self._sheet.set_paper(9)
        self._sheet.set_landscape()
        self._sheet.fit_to_pages(1, 0)
        self._sheet.hide_gridlines(2)

    def widths(self, *widths: float) -> None:
        """Set the widths of the first columns, in characters."""
        for column, width in enumerate(widths):
            self._sheet.set_column(column, column, width)

    def freeze(self, rows: int) -> None:
        """Keep the first rows in view."""
        self._sheet.freeze_panes(rows, 0)

    def text(self, cell: str, text: str, look: str = "") -> None:
        """Write a text, never as a formula, whatever it begins with."""
        self._sheet.write_string(*xl_cell_to_rowcol(cell), text, self._looks[look])

    def heads(self, row: int, *texts: str) -> None:
        """Write a line of headings."""
        for column, text in enumerate(texts):
            self.text(f"{self.letter(column)}{row}", text, "head")

    def number(self, cell: str, value: float, look: str) -> None:
        """Write a number.

        Raises
        ------
        ValueError
            If it is not finite.
        """
        self._sheet.write_number(*xl_cell_to_rowcol(cell), _finite(cell, value), self._looks[look])
        self._numbers[cell] = float(value)

    def formula(self, cell: str, formula: str, value: float, look: str) -> None:
        """Write a formula with its value, for programs that show it without calculating.

        Raises
        ------
        ValueError
            If the value is not finite.
        """
        self._sheet.write_formula(*xl_cell_to_rowcol(cell), formula, self._looks[look], _finite(cell, value))

    def column_total(self, letter: str, first: int, last: int) -> float:
        """Sum of the numbers written into part of a column."""
        return sum(self._numbers.get(f"{letter}{row}", 0.0) for row in range(first, last + 1))

    @staticmethod
    def letter(column: int) -> str:
        """Name of a column, counted from 0."""
        return str(xl_col_to_name(column))


def _finite(cell: str, value: float) -> float:
    if not math.isfinite(value):
        msg = f"cell {cell} of the workbook must be a finite number, got {value}"
        raise ValueError(msg)
    return float(value)
