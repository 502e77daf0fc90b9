"""``simstore report``: the page and the workbook of a result folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def report(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder that a simulation wrote.")],
    plan: Annotated[
        str | None, typer.Option(metavar="NAME", help="Plan to report on. Default: the cheapest that holds.")
    ] = None,
    study: Annotated[
        list[Path] | None,
        typer.Option(
            "--with",
            metavar="DIR",
            help="Folder of a comparison, sweep, search, stress test or sensitivity study to add; repeat for more.",
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write them anew though somebody has changed them; the old ones are kept.")
    ] = False,
) -> None:
    """Write report.html and budget.xlsx into DIR: the case for a plan, for those who decide."""
    from simstore.report.writing import write_report

    for path in write_report(folder, plan=plan, studies=study or [], force=force):
        typer.echo(f"Wrote {path}")
