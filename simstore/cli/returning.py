"""``simstore returned``: a sheet that was filled in goes into the scenario."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Annotated

import typer

MOST_NAMED = 12


def returned(
    scenario: Annotated[Path, typer.Argument(metavar="SCENARIO", help="Scenario folder with a register.")],
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="sheet.csv of a rota, filled in.")],
) -> None:
    """Take a filled-in SHEET into SCENARIO: dates of drying, stock, weighings, the day; and say what is late."""
    from simstore.scenario.returning.returned import returned as taken
    from simstore.scenario.returning.returned import write_returned

    found = taken(scenario, sheet)
    written = write_returned(found, scenario)
    typer.echo(f"{found.exchanged} exchanges, {found.weighed} weighings, {found.read} readings taken in.")
    if found.known_already:
        typer.echo(f"{found.known_already} rows were taken in before and are passed over.")
    for name, (ready, spent) in found.stock.items():
        typer.echo(f"Packets '{name}': {ready} ready, {spent} spent.")
    for note in found.notes:
        typer.echo("\n".join(textwrap.wrap(note, 80, initial_indent="  - ", subsequent_indent="    ")))
    if found.late:
        names = [line.subject for line in found.late]
        more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
        text = f"Late: {len(names)} enclosures were not done: {', '.join(names[:MOST_NAMED])}{more}"
        typer.echo("\n".join(textwrap.wrap(text, 80)))
    else:
        typer.echo("Nothing on the sheet is late.")
    typer.echo(f"The scenario now begins on {found.today}. Wrote {', '.join(written) or 'nothing'} in {scenario}.")
    typer.echo(f"  simstore rota {scenario} --out next")
    if found.weighed:
        typer.echo(f"  simstore fit {scenario} --measurements {scenario / 'measurements.csv'} --out learnt")
