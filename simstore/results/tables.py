"""The tables of one or more replications as data frames, exactly as the schema says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from simstore.results.columns import RunColumns, run_columns
from simstore.results.table_columns import TABLES, Column
from simstore.sim.record import RunRecord

if TYPE_CHECKING:
    import pandas as pd


def tables(records: Sequence[RunRecord]) -> dict[str, pd.DataFrame]:
    """Every table of these replications, ordered by plan and replication.

    Parameters
    ----------
    records : sequence of RunRecord
        Replications of one or more plans, each pair of plan and replication once.

    Returns
    -------
    dict of str to DataFrame
        Tables named and typed as in :data:`simstore.results.table_columns.TABLES`.

    Raises
    ------
    SimstoreError
        If the books of a replication do not close.
    """
    return frames([run_columns(record) for record in records])


def frames(runs: Sequence[RunColumns]) -> dict[str, pd.DataFrame]:
    """Join the columns of several replications into one data frame a table."""
    ordered = sorted(runs, key=lambda run: (run.plan, run.replication))
    return {name: _frame(name, columns, ordered) for name, columns in TABLES.items()}


def _frame(name: str, columns: Sequence[Column], runs: Sequence[RunColumns]) -> pd.DataFrame:
    import pandas as pd

    parts = [run.tables[name] for run in runs]
    lengths = [len(part[columns[2].name]) for part in parts]
    data: dict[str, Any] = {}
    for column in columns:
        if column.name == "plan":
            cells = np.repeat(np.asarray([run.plan for run in runs], dtype=object), lengths)
        elif column.name == "replication":
            cells = np.repeat(np.asarray([run.replication for run in runs], dtype=np.int64), lengths)
        else:
            cells = _joined([part[column.name] for part in parts], column.dtype)
        data[column.name] = pd.array(cells, dtype=cast("Any", column.dtype))
    return pd.DataFrame(data, copy=False)


def _joined(parts: Sequence[Any], dtype: str) -> Any:
    """All cells of one column, one after the other."""
    if dtype in {"int64", "float64"}:
        whole = [np.asarray(part, dtype=dtype) for part in parts]
        return np.concatenate(whole) if whole else np.empty(0, dtype=dtype)
    return [cell for part in parts for cell in part]
