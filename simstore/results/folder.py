"""Writes the tables, the summary and the manifest of a run into its folder."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simstore.errors import SimstoreError
from simstore.results.csv_text import write_csv
from simstore.results.manifest import manifest_of, write_manifest
from simstore.results.staging import staged_folder
from simstore.results.summary import Summary, summary_document
from simstore.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas as pd


def write_results(
    out: Path,
    scenario: Scenario,
    tables: Mapping[str, pd.DataFrame],
    summary: Summary,
    *,
    replications: int,
    parquet: bool = False,
    extras: Callable[[Path], None] | None = None,
) -> None:
    """Write a result folder in one step.

    Parameters
    ----------
    out : Path
        Folder; see :func:`simstore.results.staging.staged_folder` for what it may hold already.
    scenario : Scenario
        As the user gave it, with the seed that was used.
    tables : mapping of str to DataFrame
        Written as ``NAME.csv``.
    summary : Summary
        Written as ``summary.json``.
    replications : int
        Replications of each plan.
    parquet : bool
        Write ``NAME.parquet`` as well.
    extras : callable, optional
        Gets the folder while it is aside, to add pictures and the like.

    Raises
    ------
    SimstoreError
        If the folder is not ours or cannot be written, or Parquet is asked for without pyarrow.
    """
    facts = manifest_of(scenario, command="run", plans=list(summary), replications=replications)
    with staged_folder(out) as stage:
        for name, table in tables.items():
            write_csv(table, stage / f"{name}.csv")
            if parquet:
                write_parquet(table, stage / f"{name}.parquet")
        document = summary_document(
            summary, scenario=scenario.settings.title, seed=scenario.settings.seed, replications=replications
        )
        write_json(document, stage / "summary.json")
        if extras is not None:
            extras(stage)
        write_manifest(stage, facts)


def write_parquet(table: pd.DataFrame, path: Path) -> None:
    """Write a table as Parquet; text stays as it is, for programs that do not take it for formulas.

    Raises
    ------
    SimstoreError
        If pyarrow is not installed.
    """
    try:
        table.to_parquet(path, engine="pyarrow", index=False)
    except ImportError:
        msg = "Parquet files need the package pyarrow: install simstore[parquet], or leave --parquet out"
        raise SimstoreError(msg) from None


def write_json(document: Mapping[str, Any], path: Path) -> None:
    """Write a document as JSON, keys in the order given."""
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8", newline="\n")


def file_part(text: str) -> str:
    """``text`` as a part of a file name: letters, digits, hyphens; anything else becomes an underscore."""
    return "".join(c if (c.isascii() and c.isalnum()) or c == "-" else "_" for c in text)


def file_parts(names: Iterable[str]) -> dict[str, str]:
    """Part of a file name for each of several names; a short hash keeps apart those that would be one file."""
    parts = {name: file_part(name) for name in names}
    alike = Counter(part.casefold() for part in parts.values())
    return {
        name: part if alike[part.casefold()] == 1 else f"{part}-{hashlib.sha256(name.encode()).hexdigest()[:6]}"
        for name, part in parts.items()
    }
