"""``simstore adopt``: a list as somebody keeps it becomes the register of a scenario."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer


def adopt(
    list_file: Annotated[Path, typer.Argument(metavar="LIST", help="Your list of enclosures or finds: CSV or xlsx.")],
    scenario: Annotated[
        Path, typer.Argument(metavar="SCENARIO", help="Scenario folder; the starter is put there if there is none.")
    ],
    sheet: Annotated[
        str | None, typer.Option(metavar="NAME", help="Sheet of the workbook. Default: the first.")
    ] = None,
) -> None:
    """Look at the columns of LIST, write into SCENARIO how it is read, and say what could not be told."""
    from simstore.errors import SimstoreError
    from simstore.scenario.adopting.adopt import adopted
    from simstore.scenario.reading.load import load_scenario

    done = adopted(list_file, scenario, sheet=sheet)
    proposal = done.proposal
    typer.echo(f"{proposal.rows} rows of {list_file.name}, read so:")
    for column, heading in proposal.form.get("headings", {}).items():
        typer.echo(f"  {column:<18} {heading}")
    _told("Kept for the rota", proposal.others)
    _told("Taken so, though it may be meant otherwise", proposal.doubts)
    _told("Could not be told", proposal.missing)
    typer.echo(f"\nWrote {', '.join(done.written)} in {scenario}. What is to be put right stands in [list].")
    try:
        load_scenario(scenario)
    except SimstoreError as error:
        typer.echo(f"\nNot in order yet: {error}")
    else:
        typer.echo(f"In order; look at it with\n  simstore check {scenario}")


def _told(heading: str, points: Sequence[str]) -> None:
    if points:
        typer.echo(f"\n{heading}")
        for point in points:
            typer.echo("\n".join(textwrap.wrap(point, 80, initial_indent="  - ", subsequent_indent="    ")))
