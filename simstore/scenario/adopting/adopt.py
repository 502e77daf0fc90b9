"""Puts a list into a scenario's folder, with the form in which it is read."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from simstore.errors import Problem, SimstoreError, error_from
from simstore.scenario.adopting.proposal import Proposal, proposal_for
from simstore.scenario.adopting.written import with_proposal
from simstore.scenario.checking.check import check_document
from simstore.scenario.checking.document import decoded, parsed, with_catalogue, with_flat_changes
from simstore.scenario.reading.load import SCENARIO_FILE
from simstore.scenario.reading.plain_table import plain_table
from simstore.scenario.reading.starter_files import write_starter
from simstore.scenario.reading.user_file import BEFORE, named_bytes, put_in_place
from simstore.scenario.values.settings import Settings


@dataclass(frozen=True, slots=True)
class Adopted:
    """What was proposed, and the files that were written."""

    proposal: Proposal
    written: Sequence[str]


def adopted(list_file: Path, folder: Path, *, sheet: str | None = None) -> Adopted:
    """Make a list the register of the scenario in ``folder``.

    Parameters
    ----------
    list_file : Path
        CSV or xlsx.
    folder : Path
        With a scenario, whose file is changed and kept as it was beside; or missing or empty, for the starter.
    sheet : str, optional
        Sheet of a workbook.

    Raises
    ------
    SimstoreError
        If the list or the scenario cannot be read, or the folder cannot be written; nothing is written then.
    """
    data = named_bytes(list_file, cure="name the file with your list")
    table = plain_table(data, list_file.name, sheet=sheet)
    if isinstance(table, Problem):
        raise error_from([table], f"list {list_file}")
    file = folder / SCENARIO_FILE
    new = not file.exists()
    if new:
        write_starter(folder)
    try:
        old = file.read_bytes()
        text = decoded(old, file.name)
        if isinstance(text, Problem):
            raise error_from([text], f"scenario {folder}")
        proposal = proposal_for(table, _settings(text, folder))
        if sheet is not None:
            proposal.form["sheet"] = sheet
        after = with_proposal(text, proposal, register=list_file.name, start=proposal.newest if new else "")
        tomllib.loads(after)
        target = folder / list_file.name
        written = [SCENARIO_FILE]
        if not (target.exists() and target.samefile(list_file)):
            if target.exists() and target.read_bytes() != data and not new:
                msg = f"{target}: another list of that name is there already; rename yours, or move that one away"
                raise SimstoreError(msg)
            put_in_place(target, data)
            written.append(list_file.name)
        if not new:
            put_in_place(folder / BEFORE.format(SCENARIO_FILE), old)
            written.append(BEFORE.format(SCENARIO_FILE))
        put_in_place(file, after.encode("utf-8"))
    except OSError as error:
        msg = f"{folder}: cannot be written ({error.strerror}); name a folder that you may write to"
        raise SimstoreError(msg) from error
    return Adopted(proposal, written)


def _settings(text: str, folder: Path) -> Settings:
    """Read the scenario but for its register, which is to come."""
    raw = parsed(text, SCENARIO_FILE)
    if isinstance(raw, Problem):
        raise error_from([raw], f"scenario {folder}")
    raw = {key: value for key, value in raw.items() if key not in ("list", "register", "search")}
    try:
        return check_document(with_catalogue(with_flat_changes(raw))).settings
    except ValidationError as error:
        msg = f"scenario {folder}: is not in order; run `simstore check {folder}` first"
        raise SimstoreError(msg) from error
