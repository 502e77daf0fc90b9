"""The command line: reads arguments, calls, writes, says what came of it; no arithmetic here.

Heavy libraries load inside the commands, so that ``simstore --help`` answers at once.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from simstore.cli.comparing import compare
from simstore.cli.finding import find
from simstore.cli.report_command import report
from simstore.cli.sensing import sensitivity
from simstore.cli.stressing import stress
from simstore.cli.sweeping import sweep
from simstore.errors import SimstoreError

app = typer.Typer(
    name="simstore",
    help="Plan dry storage for excavated metals: gel, exchanges, oven and staff hours.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

ScenarioPath = Annotated[Path, typer.Argument(metavar="SCENARIO", help="Scenario folder or TOML file.")]


@app.callback()
def _simstore() -> None:
    """Plan dry storage for excavated metals: gel, exchanges, oven and staff hours."""


@app.command()
def run(
    scenario: ScenarioPath,
    out: Annotated[Path, typer.Option(metavar="DIR", help="Folder for the results.")],
    plan: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Plan to run; repeat for more. Default: the scenario's.")
    ] = None,
    found: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder of a search: run the plan found there too.")
    ] = None,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed of the luck. Default: the scenario's.")] = None,
    replications: Annotated[int, typer.Option(min=1, help="Simulated runs of each plan.")] = 20,
    workers: Annotated[int | None, typer.Option(min=1, help="Processes. Default: one for each processor.")] = None,
    no_pictures: Annotated[bool, typer.Option("--no-pictures", help="Write tables only, no charts.")] = False,
    parquet: Annotated[bool, typer.Option("--parquet", help="Write tables as Parquet too.")] = False,
    with_report: Annotated[bool, typer.Option("--report", help="Write the report and its workbook too.")] = False,
) -> None:
    """Simulate plans of SCENARIO; write tables, summary, charts and manifest to DIR."""
    from simstore.cli.running import run_plans

    text = run_plans(
        scenario,
        out,
        plans=plan or [],
        seed=seed,
        replications=replications,
        workers=workers,
        pictures=not no_pictures,
        parquet=parquet,
        found=found,
    )
    if with_report:
        from simstore.report.writing import write_report

        write_report(out)
    typer.echo(text)
    typer.echo(f"Results: {out}")


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
def start(folder: Annotated[Path, typer.Argument(metavar="DIR", help="New folder for the scenario.")]) -> None:
    """Make a small scenario of invented data in DIR, to be changed into yours."""
    from simstore.cli.starting import write_starter

    names = write_starter(folder)
    typer.echo(f"Wrote {', '.join(names)} to {folder}. The data are invented: replace them with yours, then")
    typer.echo(f"  simstore check {folder}")
    typer.echo(f"  simstore run {folder} --out results")


app.command()(compare)
app.command()(find)
app.command()(report)
app.command()(sweep)
app.command()(stress)
app.command()(sensitivity)


def main() -> None:
    """Run the command line; exit 0 when done, 1 for the user's data, 2 for usage."""
    # Nothing here needs a linear algebra library with threads; without them worker processes begin sooner.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        app()
    except SimstoreError as error:
        typer.echo(f"error: {error}", err=True)
        raise SystemExit(1) from None
