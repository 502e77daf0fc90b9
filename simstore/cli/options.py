"""Arguments that several commands share, and how they are read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

ScenarioPath = Annotated[Path, typer.Argument(metavar="SCENARIO", help="Scenario folder or TOML file.")]
OutFolder = Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")]
Seed = Annotated[int | None, typer.Option(min=0, help="Seed of the luck. Default: the scenario's.")]
Workers = Annotated[int | None, typer.Option(min=1, help="Processes. Default: one for each processor.")]
HalfWidths = Annotated[
    list[str] | None,
    typer.Option(
        "--half-width",
        metavar="METRIC=VALUE",
        help="Run until the 95 % interval of METRIC is expected to be this narrow; --replications is the pilot.",
    ),
]
NoPictures = Annotated[bool, typer.Option("--no-pictures", help="Write tables only.")]
Keep = Annotated[
    Path | None,
    typer.Option("--keep", metavar="FILE", help="Keep finished runs in FILE, and do not simulate again what it has."),
]
FoundFolder = Annotated[
    Path | None,
    typer.Option("--found", metavar="DIR", help="Folder of a search: take the plan found there, as plan 'found'."),
]
