"""Writes the folder of a study: tables, summary, charts, words and manifest, in one step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simstore.plans.found import FOUND_FILE
from simstore.results.csv_text import write_csv
from simstore.results.folder import write_json
from simstore.results.manifest import manifest_of, write_manifest
from simstore.results.staging import staged_folder
from simstore.results.summary import Summary, summary_document
from simstore.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.charts.picture import Picture


def write_study(
    out: Path,
    scenario: Scenario,
    *,
    command: str,
    asked: Mapping[str, Any],
    replications: int,
    tables: Mapping[str, pd.DataFrame],
    summary: Summary,
    words: str,
    found: Mapping[str, Any] | None = None,
    pictures: Sequence[tuple[str, Picture]] = (),
) -> None:
    """Write everything that a study found.

    Parameters
    ----------
    out : Path
        Folder, as for :func:`simstore.results.folder.write_results`.
    scenario : Scenario
        As the user gave it, with the seed that was used.
    command : str
        What was done.
    asked : mapping
        What was asked for beyond scenario, seed and replications; goes into the manifest.
    replications : int
        Replications of each plan.
    tables : mapping of str to DataFrame
        Written as ``NAME.csv``.
    summary : Summary
        Written as ``summary.json``.
    words : str
        What the terminal shows; written as ``answer.txt``.
    found : mapping, optional
        Plan of a search that was taken as plan "found"; written as ``found.json``.
    pictures : sequence of (name, Picture)
        Written below ``pictures``, with their data.
    """
    facts = manifest_of(scenario, command=command, plans=list(summary), replications=replications)
    with staged_folder(out) as stage:
        for name, table in tables.items():
            write_csv(table, stage / f"{name}.csv")
        document = summary_document(
            summary, scenario=scenario.settings.title, seed=scenario.settings.seed, replications=replications
        )
        write_json(document, stage / "summary.json")
        if found is not None:
            write_json(dict(found), stage / FOUND_FILE)
        (stage / "answer.txt").write_text(words, encoding="utf-8", newline="\n")
        if pictures:
            from simstore.report.charts.save import save_picture

            (stage / "pictures").mkdir()
            for name, picture in pictures:
                save_picture(picture, stage / "pictures", name=name)
        write_manifest(stage, {**facts, "asked": dict(asked)})
