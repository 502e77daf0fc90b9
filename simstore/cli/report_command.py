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
) -> None:
    """Write report.html and budget.xlsx into DIR."""
    from simstore.report.writing import write_report

    for path in write_report(folder, plan=plan):
        typer.echo(f"Wrote {path}")
