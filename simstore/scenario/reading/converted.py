"""Turns a scenario's folder into a workbook and back; what is said stays the same."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterable, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from simstore.errors import SimstoreError
from simstore.scenario.checking.register_columns import COLUMNS
from simstore.scenario.reading.load import SCENARIO_FILE, WORKBOOK, load_scenario
from simstore.scenario.reading.starter_files import STARTER_FILES
from simstore.scenario.reading.user_file import put_in_place
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.workbook.from_files import workbook_of


def convert(source: Path | None, target: Path) -> list[Path]:
    """Write a scenario in the other form: a workbook if ``target`` ends in .xlsx, else a folder.

    Parameters
    ----------
    source : Path or None
        Folder or workbook, in order; None for the starter.
    target : Path
        Must not be there yet, or be an empty folder.

    Returns
    -------
    list of Path
        What was written: the scenario and the files that it names.

    Raises
    ------
    SimstoreError
        If the source is not in order, or something is in the way.
    """
    if (target.is_dir() and any(target.iterdir())) or target.is_file():
        msg = f"{target}: is there already; name a new folder or file, nothing was written"
        raise SimstoreError(msg)
    parts = _starter() if source is None else _parts(source)
    place = target.parent if target.suffix.lower() == WORKBOOK else target
    main = {target: workbook_of(*_document(parts))} if place != target else _texts(parts, target)
    beside = {place / name: data for name, data in parts.items() if name not in _own(parts)}
    clash = [path for path, data in beside.items() if path.exists() and path.read_bytes() != data]
    if clash:
        msg = f"{clash[0]}: another file of that name is there already; nothing was written"
        raise SimstoreError(msg)
    written = []
    try:
        for path, data in {**beside, **main}.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            put_in_place(path, data)
            written.append(path)
    except OSError as error:
        msg = f"{target}: cannot be written ({error.strerror}); name a place that you may write to"
        raise SimstoreError(msg) from error
    return written


def _starter() -> dict[str, bytes]:
    folder = files("simstore.scenario").joinpath("starter")
    return {name: folder.joinpath(name).read_bytes() for name in STARTER_FILES}


def _parts(source: Path) -> dict[str, bytes]:
    """Read every file of a scenario, its TOML first; a list of the user's own becomes a register."""
    scenario = load_scenario(source)
    parts = {file.name: file.data for file in scenario.files}
    register = scenario.settings.register_csv
    if register is not None and scenario.settings.list_form is not None:
        count = len(scenario.enclosures) - sum(group.count for group in scenario.settings.groups)
        parts[register] = _register(scenario.enclosures[:count])
    return parts


def _document(parts: Mapping[str, bytes]) -> tuple[dict[str, Any], bytes | None]:
    """Give what scenario.toml says, and the register."""
    document = tomllib.loads(next(iter(parts.values())).decode("utf-8-sig"))
    document.pop("list", None)
    return document, parts.get(document.get("register", ""))


def _own(parts: Mapping[str, bytes]) -> set[str]:
    """Names of the scenario's text and of its register."""
    document = tomllib.loads(next(iter(parts.values())).decode("utf-8-sig"))
    return {next(iter(parts)), str(document.get("register", ""))}


def _texts(parts: Mapping[str, bytes], target: Path) -> dict[Path, bytes]:
    own = _own(parts)
    name = next(iter(parts))
    return {target / (SCENARIO_FILE if each == name else each): parts[each] for each in parts if each in own}


def _register(rows: Iterable[Enclosure]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in rows:
        values = row.model_dump(mode="json")
        writer.writerow(["" if value is None else value for value in values.values()])
    return out.getvalue().encode("utf-8")
