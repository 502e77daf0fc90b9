"""Tables as CSV text and back.

UTF-8, commas, line feeds, missing values empty. Numbers have ten significant digits: far beyond what the model knows,
and the same on every machine. Text that a spreadsheet would take for a formula gets an apostrophe before it, and
:func:`read_table` takes it off again; a carriage return in a text becomes a blank.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simstore.results.table_columns import TABLES

if TYPE_CHECKING:
    import pandas as pd

FLOAT_FORMAT: Final = "%.10g"
FORMULA_SIGNS: Final = ("=", "+", "-", "@", "\t")
"""Text that begins with one of these is a formula to a spreadsheet."""
MARK: Final = "'"


def write_csv(table: pd.DataFrame, path: Path) -> None:
    """Write a table as a CSV file."""
    path.write_text(csv_text(table), encoding="utf-8", newline="")


def csv_text(table: pd.DataFrame) -> str:
    """Lay out a table as CSV text with a header line."""
    columns = [_cells(table[name]) for name in table.columns]
    lines = [",".join(_text_cells(list(table.columns))), *map(",".join, zip(*columns, strict=True))]
    return "\n".join(lines) + "\n"


def read_table(path: Path) -> pd.DataFrame:
    """Read a table back as it was before it was written, up to ten digits.

    Parameters
    ----------
    path : Path
        ``NAME.csv`` with NAME one of :data:`simstore.results.table_columns.TABLES`.
    """
    import pandas as pd

    columns = TABLES[path.stem]
    table = pd.read_csv(
        path,
        dtype={column.name: column.dtype for column in columns},
        keep_default_na=False,
        na_values={column.name: [""] for column in columns if column.dtype != "str"},
    )
    armed = {column.name: _armed(table[column.name]) for column in columns if column.dtype == "str"}
    return table.assign(**armed)


def _cells(column: pd.Series[Any]) -> list[str]:
    kind = str(column.dtype)
    if kind == "str":
        return _text_cells(column.to_numpy(dtype=object).tolist())
    if kind == "int64":
        return list(map(str, column.tolist()))
    missing = column.isna().to_numpy()
    if kind == "Int64":
        cells = list(map(str, column.fillna(0).tolist()))
    else:
        cells = list(map(FLOAT_FORMAT.__mod__, column.fillna(0.0).tolist()))
    for row in np.flatnonzero(missing):
        cells[row] = ""
    return cells


def _text_cells(texts: list[str]) -> list[str]:
    shown = {text: _disarmed(text) for text in dict.fromkeys(texts)}
    return [shown[text] for text in texts]


def _disarmed(text: str) -> str:
    """Mark what looks like a formula, and quote what would end the cell (RFC 4180)."""
    text = text.replace("\r", " ")
    if text.startswith((*FORMULA_SIGNS, MARK)):
        text = MARK + text
    return '"' + text.replace('"', '""') + '"' if any(sign in text for sign in ',"\n') else text


def _armed(cells: pd.Series[str]) -> pd.Series[str]:
    marked = {cell: cell[1:] for cell in cells.unique() if cell.startswith(MARK)}
    return cells.replace(marked) if marked else cells
