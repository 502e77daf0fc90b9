"""The command line: reads arguments, calls, writes, says what came of it; no arithmetic here.

Heavy libraries load inside the commands, so that ``simstore --help`` answers at once.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from simstore.cli.adopting import adopt
from simstore.cli.asking import ScenarioPath, command_of
from simstore.cli.last_resort import INTERNAL, end_as_by_hand, out_of_memory, told
from simstore.cli.report_command import report
from simstore.cli.returning import returned
from simstore.errors import SimstoreError, visible
from simstore.questions.question import questions_of
from simstore.questions.store import Store

app = typer.Typer(
    name="simstore",
    help="Plan dry storage for excavated metals: gel, exchanges, oven and staff hours.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback()
def _simstore() -> None:
    """Plan dry storage for excavated metals: gel, exchanges, oven and staff hours."""


for _name, _ask in questions_of(Store).items():
    app.command(_name)(command_of(_name, _ask))


@app.command()
def check(scenario: ScenarioPath) -> None:
    """Read SCENARIO, say what was understood, and name everything that is wrong."""
    from simstore.cli.checking import understood
    from simstore.scenario.reading.load import load_scenario

    read = load_scenario(scenario)
    if read.settings.uncertain:
        from simstore.study.sensitivity.inputs import inputs_of

        inputs_of(read, read.settings.default_plan)  # refuses ends of a range at which the scenario is not valid
    typer.echo(understood(read))


@app.command()
def start(
    place: Annotated[Path, typer.Argument(metavar="PLACE", help="New folder, or new workbook (NAME.xlsx).")],
    of: Annotated[
        Path | None,
        typer.Option("--of", metavar="SCENARIO", help="Scenario to turn into it. Default: the starter."),
    ] = None,
) -> None:
    """Make a small scenario of invented data in PLACE, to be changed into yours; or another form of one of yours."""
    if of is None and place.suffix.lower() != ".xlsx":
        from simstore.scenario.reading.starter_files import write_starter

        written: Sequence[Path] = write_starter(place)
    else:
        from simstore.scenario.reading.converted import convert

        written = convert(of, place)
    names = ", ".join(path.name for path in written)
    invented = "The data are invented: replace them with yours, then" if of is None else "It says the same:"
    typer.echo(f"Wrote {names}. {invented}")
    typer.echo(f"  simstore check {place}")
    typer.echo(f"  simstore run {place} --out results")


app.command()(report)
app.command()(adopt)
app.command()(returned)


def main() -> None:
    """Run the command line; exit 0 when done, 1 for the user's data, 2 for usage, 3 for an internal error."""
    # Nothing here needs a linear algebra library with threads; without them worker processes begin sooner.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    end_as_by_hand()
    try:
        app()
        return
    except SimstoreError as error:
        message, code = str(error), 1
    except MemoryError:
        message, code = out_of_memory(), 1
    except Exception as error:
        message, code = told(error), INTERNAL
    typer.echo(visible(f"error: {message}"), err=True)
    raise SystemExit(code)
