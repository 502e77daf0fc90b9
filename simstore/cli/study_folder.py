"""Writes the folder of a study: tables, summary, charts, words and manifest, in one step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simstore.plans.found import FOUND_FILE
from simstore.prose.blocks import Block, Chart, Said
from simstore.prose.terminal import text_of
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
    said: Said,
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
    said : Said
        What is said of it; written as ``answer.txt``, as the terminal shows it, and as ``answer.json`` for the report.
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
        write_said(stage, said, dict(pictures))
        if pictures:
            from simstore.report.charts.save import save_picture

            (stage / "pictures").mkdir()
            for name, picture in pictures:
                save_picture(picture, stage / "pictures", name=name)
        write_manifest(stage, {**facts, "asked": dict(asked)})


def write_said(stage: Path, said: Said, pictures: Mapping[str, Picture]) -> None:
    """Write what is said, with the places of the marks on the charts that were drawn."""
    placed = replace(said, blocks=[_with_places(block, pictures) for block in said.blocks])
    (stage / "answer.txt").write_text(text_of(said.blocks), encoding="utf-8", newline="\n")
    (stage / "answer.json").write_text(placed.as_json(), encoding="utf-8", newline="\n")


def _with_places(block: Block, pictures: Mapping[str, Picture]) -> Block:
    if not isinstance(block, Chart) or not block.marks or block.picture not in pictures:
        return block
    from simstore.report.charts.picture import place_pct

    picture = pictures[block.picture]
    return replace(block, marks=[replace(mark, at_pct=place_pct(picture, mark.x, mark.y)) for mark in block.marks])
