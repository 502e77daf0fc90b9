"""Writes a proposal into a scenario's file, whose remarks and order stay as they are."""

from __future__ import annotations

from typing import Any

from simstore.scenario.adopting.proposal import Proposal

REMARK = " How the register is read; written by `simstore adopt`, to be put right by hand."


def with_proposal(text: str, proposal: Proposal, *, register: str, start: str = "") -> str:
    """Return the TOML text with the register's name, its form, and kinds that are new.

    Parameters
    ----------
    text : str
        The scenario's TOML text.
    proposal : Proposal
    register : str
        Name of the list's file.
    start : str
        First day, year first; empty to leave it.
    """
    import tomlkit
    from tomlkit.items import Table

    document = tomlkit.parse(text)
    document["register"] = register
    if start:
        document["start"] = tomlkit.date(start)
    document.pop("list", None)
    kinds = document.get("kinds")
    for name, kind in proposal.kinds.items():
        if isinstance(kinds, Table) and name not in kinds:
            kinds.add(name, _table(kind))
    form = tomlkit.table()
    form.comment(REMARK.strip())
    for key, value in proposal.form.items():
        form.add(key, _table(value) if isinstance(value, dict) else value)
    document.add("list", form)
    return tomlkit.dumps(document)


def _table(values: dict[str, Any]) -> Any:
    import tomlkit

    table = tomlkit.table()
    for key, value in values.items():
        if isinstance(value, dict):
            inline = tomlkit.inline_table()
            inline.update(value)
            table.add(key, inline)
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            many = tomlkit.aot()
            for part in value:
                many.append(_table(part))
            table.add(key, many)
        else:
            table.add(key, value)
    return table
