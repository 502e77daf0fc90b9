"""The tables of one run as bytes for a cache, and back to the last bit; plain data, that can run nothing."""

from __future__ import annotations

import base64
import json
import zlib
from typing import Any, Final

import numpy as np

from simstore.results.columns import RunColumns
from simstore.results.table_columns import TABLES

KINDS: Final = "iufb"
"""Kinds of array that are kept: numbers and truth values."""


def frozen_columns(run: RunColumns) -> bytes:
    """Write the columns of a run."""
    tables = {name: {key: _plain(cells) for key, cells in run.tables[name].items()} for name in TABLES}
    return zlib.compress(json.dumps([run.plan, run.replication, tables], default=_number).encode(), 1)


def thawed_columns(kept: bytes) -> RunColumns:
    """Read the columns of a run.

    Raises
    ------
    ValueError, TypeError, KeyError
        If the bytes are not what `frozen_columns` writes.
    """
    try:
        plan, replication, tables = json.loads(zlib.decompress(kept))
    except zlib.error as error:
        raise ValueError(str(error)) from error
    return RunColumns(
        str(plan), int(replication), {name: {key: _cells(c) for key, c in tables[name].items()} for name in TABLES}
    )


def _plain(cells: Any) -> Any:
    if not isinstance(cells, np.ndarray):
        return cells
    if cells.dtype.kind not in KINDS or cells.ndim != 1:
        return cells.tolist()
    return {"kind": cells.dtype.str, "data": base64.b64encode(cells.tobytes()).decode()}


def _cells(plain: Any) -> Any:
    if not isinstance(plain, dict):
        return plain
    kind = np.dtype(str(plain["kind"]))
    if kind.kind not in KINDS:
        msg = f"an array of {kind}"
        raise ValueError(msg)
    return np.frombuffer(base64.b64decode(plain["data"]), kind).copy()


def _number(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic) else json.JSONEncoder().default(value)
