"""Makes a command of a question, and runs it: reads the store, asks, writes the folder, says what came of it."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, get_args, get_origin

import typer

from simstore.questions.options import Option
from simstore.questions.question import marked_of, parameters_of

Ask = Callable[..., Any]
KEPT = ".{}.simulations.sqlite"
"""File beside the result in which a question that takes long keeps finished runs until it is done."""

ScenarioPath = Annotated[Path, typer.Argument(metavar="SCENARIO", help="Scenario: folder, workbook or TOML file.")]
OutFolder = Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")]
NoPictures = Annotated[bool, typer.Option("--no-pictures", help="Write tables only, no charts.")]
Parquet = Annotated[bool, typer.Option("--parquet", help="Write tables as Parquet too.")]
Report = Annotated[bool, typer.Option("--report", help="Write the report and its workbook too.")]


def command_of(name: str, ask: Ask) -> Callable[..., None]:
    """Make the command of a question, with an option for each of its parameters."""
    first = [_parameter("scenario", ScenarioPath), _parameter("out", OutFolder)]
    options = [_read_as(parameter) for parameter in parameters_of(ask)]
    last = [_parameter("no_pictures", NoPictures, False), _parameter("parquet", Parquet, False)]
    if marked_of(ask).reported:
        last.append(_parameter("report", Report, False))

    def command(
        scenario: Path, out: Path, no_pictures: bool, parquet: bool, report: bool = False, **given: Any
    ) -> None:
        words = _answered(ask, scenario, out, given, pictures=not no_pictures, parquet=parquet, report=report)
        typer.echo(words)
        typer.echo(f"Results: {out}")

    command.__name__, command.__doc__ = name, ask.__doc__
    command.__annotations__ = {}
    setattr(command, "__signature__", inspect.Signature([*first, *options, *last]))  # noqa: B010
    return command


def _answered(ask: Ask, scenario: Path, out: Path, given: dict[str, Any], **saved: bool) -> str:
    """Ask, write the answer to its folder, and return its words."""
    from simstore.cli.first_time import say_how_the_step_runs
    from simstore.cli.progress import OnScreen
    from simstore.errors import SimstoreError
    from simstore.lab.cache import open_cache
    from simstore.questions.loaded import read
    from simstore.questions.store import Store
    from simstore.results.preflight import look_ahead

    named = {name: value for name, value in given.items() if value is not None}
    variadic = [p.name for p in parameters_of(ask) if p.kind is inspect.Parameter.VAR_POSITIONAL]
    listed = [value for name in variadic for value in named.pop(name, [])]
    beside = out.parent / KEPT.format(out.name) if marked_of(ask).goes_on and "keep" not in named else None
    keep = beside or named.get("keep")
    store = Store(read(scenario, named.pop("seed", None)), watch=OnScreen(charts=saved["pictures"]))
    look_ahead(out, parquet=saved["parquet"])
    say_how_the_step_runs()
    try:
        answer = ask(store, *listed, **(named if keep is None else {**named, "keep": keep}))
        answer.save(out, **saved)
    except KeyboardInterrupt:
        kept = f"finished simulations are kept in {keep}: the same command goes on from there"
        msg = f"interrupted; {'nothing was written' if keep is None else kept}"
        raise SimstoreError(msg) from None
    if beside is not None:
        with open_cache(beside, stays=False):
            pass
    words: str = answer.words
    return words


def _parameter(name: str, annotation: Any, default: Any = inspect.Parameter.empty) -> inspect.Parameter:
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=annotation)


def _read_as(parameter: inspect.Parameter) -> inspect.Parameter:
    """Say how the command line reads an option."""
    assert get_origin(parameter.annotation) is Annotated, f"{parameter.name}: give its Option"
    option = next(each for each in get_args(parameter.annotation) if isinstance(each, Option))
    many = option.many or parameter.kind is inspect.Parameter.VAR_POSITIONAL
    reads: Any = list[option.reads] if many else option.reads  # type: ignore[name-defined]
    default = parameter.default
    if many:
        needed = default is inspect.Parameter.empty and parameter.kind is not inspect.Parameter.VAR_POSITIONAL
        default = inspect.Parameter.empty if needed else None
    if default is None:
        reads = reads | None
    bounds = {name: value for name, value in (("min", option.least), ("max", option.most)) if value is not None}
    read = typer.Option(*option.flags, metavar=option.metavar, help=option.help, **bounds)  # type: ignore[arg-type]
    return _parameter(parameter.name, Annotated[reads, read], default)
