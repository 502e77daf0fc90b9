"""Writes page and workbook into a result folder, which is the old one or the new one at every moment."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from simstore.errors import SimstoreError
from simstore.report.page.page import chosen_plan, html_of
from simstore.report.workbook.workbook import write_workbook
from simstore.results.budget import budget_of
from simstore.results.manifest import MADE_TO_BE_EDITED, MANIFEST, PAGE, WORKBOOK, altered_files, write_manifest
from simstore.results.reading import ResultFolder, read_result_folder
from simstore.results.staging import refuse_foreign, staged_folder

KEPT: Final = "{}.kept{}"
"""Name under which a file that somebody has changed stays when a new one takes its place."""


def write_report(
    out: Path, *, plan: str | None = None, studies: Sequence[Path] = (), force: bool = False
) -> list[Path]:
    """Add ``report.html`` and ``budget.xlsx`` to a result folder.

    The folder is written anew beside the old one, its files linked where that is possible, and put in its place in
    one step; its manifest knows the two files as ours.

    Parameters
    ----------
    out : Path
        Folder that a computing command wrote.
    plan : str, optional
        Plan that the report is about; the cheapest that holds by default.
    studies : sequence of Path
        Other folders of results of the same scenario, whose findings are added.
    force : bool
        Write the two anew though somebody has changed them; the changed ones stay as ``budget.kept.xlsx``.

    Returns
    -------
    list of Path
        The two files.

    Raises
    ------
    SimstoreError
        If the folder is not one of results, holds files that are not ours, or has no such plan.
    """
    folder = read_result_folder(out)
    edited = [name for name in altered_files(out) if name in MADE_TO_BE_EDITED and (out / name).exists()]
    if edited and not force:
        msg = (
            f"{out / edited[0]}: somebody has changed it, so nothing was written; move it away, or give --force: "
            f"yours then stays as {_kept_name(edited[0])}"
        )
        raise SimstoreError(msg)
    refuse_foreign(out, out, force=force)
    name = chosen_plan(folder, plan)
    page = html_of(folder, plan=plan, others=[_of_same_scenario(folder, place) for place in studies])
    with staged_folder(out, force=force) as stage:
        _carry_over(out, stage)
        for old in edited:
            shutil.copyfile(out / old, stage / _kept_name(old))
        (stage / PAGE).write_text(page, encoding="utf-8", newline="\n")
        write_workbook(stage / WORKBOOK, folder, budget_of(folder, name))
        facts = {key: value for key, value in folder.facts.items() if key != "written"}
        write_manifest(stage, facts, not_ours=[_kept_name(old) for old in edited])
    return [out / PAGE, out / WORKBOOK]


def _kept_name(name: str) -> str:
    return KEPT.format(Path(name).stem, Path(name).suffix)


def _of_same_scenario(folder: ResultFolder, place: Path) -> ResultFolder:
    """Read a study; it may know other plans, but must rest on the same store, climate, people, stock and prices."""
    other = read_result_folder(place)
    if _rests_on(other) != _rests_on(folder):
        msg = f"{place}: comes from another scenario than {folder.path}, or from another version of it; run it again"
        raise SimstoreError(msg)
    return other


def _rests_on(folder: ResultFolder) -> tuple[object, ...]:
    settings, files = folder.scenario.settings, folder.facts["read"]
    kept = settings.model_dump(exclude={"plans", "programmes", "default_plan", "search", "seed", "note"})
    return kept, folder.scenario.enclosures, [file["sha256"] for file in files[1:]]


def _carry_over(old: Path, stage: Path) -> None:
    """Bring all files of the old folder over, except those that are made anew."""
    known = json.loads((old / MANIFEST).read_text(encoding="utf-8"))["written"]
    for name in known:
        if name in (PAGE, WORKBOOK) or not (old / name).exists():
            continue
        target = stage / name
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            os.link(old / name, target)
        except OSError:  # another file system, or one without links
            shutil.copyfile(old / name, target)
