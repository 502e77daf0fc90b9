"""Writes the folder of an answer: tables, summary, documents, words, charts and manifest, in one step."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simstore.prose.blocks import Block, Chart, Said
from simstore.prose.terminal import text_of
from simstore.results.csv_text import write_csv
from simstore.results.folder import write_json, write_parquet
from simstore.results.manifest import manifest_of, write_manifest
from simstore.results.staging import staged_folder
from simstore.results.summary import summary_document

if TYPE_CHECKING:
    from simstore.questions.answer import Answer
    from simstore.report.charts.picture import Picture


def write_answer(answer: Answer[Any], out: Path, *, pictures: bool, parquet: bool) -> None:
    """Write everything that was found.

    Parameters
    ----------
    answer : Answer
    out : Path
        Folder; see :func:`simstore.results.staging.staged_folder` for what it may hold already.
    pictures : bool
        Write charts below ``pictures``, with their data.
    parquet : bool
        Write ``NAME.parquet`` beside ``NAME.csv``.

    Raises
    ------
    SimstoreError
        If the folder is not ours or cannot be written, or Parquet is asked for without pyarrow.
    """
    scenario, settings = answer.scenario, answer.scenario.settings
    plans, replications = list(answer.measured), answer.replications
    facts = manifest_of(scenario, command=answer.question, plans=plans, replications=replications)
    with staged_folder(out) as stage:
        for name, table in answer.tables.items():
            write_csv(table, stage / f"{name}.csv")
            if parquet:
                write_parquet(table, stage / f"{name}.parquet")
        document = summary_document(
            answer.measured, scenario=settings.title, seed=settings.seed, replications=replications
        )
        write_json(document, stage / "summary.json")
        for name, content in answer.documents.items():
            write_json(content, stage / name)
        for name, make in answer.files.items():
            (stage / name).write_bytes(make())
        blocks = _with_pictures(answer, stage / "pictures") if pictures else answer.blocks
        if answer.title:
            said = Said(title=answer.title, blocks=blocks)
            (stage / "answer.txt").write_text(text_of(said.blocks), encoding="utf-8", newline="\n")
            (stage / "answer.json").write_text(said.as_json(), encoding="utf-8", newline="\n")
        write_manifest(stage, facts if answer.asked is None else {**facts, "asked": dict(answer.asked)})


def _with_pictures(answer: Answer[Any], folder: Path) -> list[Block]:
    """Write the charts; return what is said, with the places of its marks on them."""
    from simstore.report.charts.save import save_picture

    blocks = list(answer.blocks)
    for name, picture in answer.drawn():
        blocks = [_with_places(block, name, picture) for block in blocks]
        folder.mkdir(exist_ok=True)
        save_picture(picture, folder, name=name)
    return blocks


def _with_places(block: Block, name: str, picture: Picture) -> Block:
    if not isinstance(block, Chart) or not block.marks or block.picture != name:
        return block
    from simstore.report.charts.picture import place_pct

    return replace(block, marks=[replace(mark, at_pct=place_pct(picture, mark.x, mark.y)) for mark in block.marks])
