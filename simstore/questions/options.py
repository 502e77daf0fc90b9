"""What a question may be told: the words and bounds of its options, for the command line and for a script.

An option is written once, as a parameter of the question's function: its type there is what a script gives, and the
`Option` beside it says how the command line reads it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Annotated, TypedDict

PathText = str | PathLike[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """How the command line reads an option.

    Attributes
    ----------
    help : str
        What it does, in one or two sentences.
    reads : type
        What one value is.
    many : bool
        Whether it may be repeated.
    flags : tuple of str
        Names with hyphens; the parameter's own by default.
    metavar : str
        Stands for the value in the help.
    least, most : float, optional
        Bounds of a number.
    """

    help: str
    reads: type = str
    many: bool = False
    flags: tuple[str, ...] = ()
    metavar: str | None = None
    least: float | None = None
    most: float | None = None


class How(TypedDict, total=False):
    """How any question is answered; nothing but ``seed`` changes an answer."""

    seed: Annotated[int | None, Option(reads=int, least=0, help="Seed of the luck. Default: the scenario's.")]
    workers: Annotated[int | None, Option(reads=int, least=1, help="Processes. Default: one for each processor.")]
    keep: Annotated[
        PathText | None,
        Option(
            reads=Path,
            flags=("--keep", "--resume"),
            metavar="FILE",
            help="Keep finished runs in FILE, and do not simulate again what it has.",
        ),
    ]


Names = str | Sequence[str]
"""One name, or several."""
HalfWidths = Annotated[
    Sequence[str],
    Option(
        many=True,
        flags=("--half-width",),
        metavar="METRIC=VALUE",
        help="Run until the 95 % interval of METRIC is expected to be this narrow; --replications is the pilot.",
    ),
]


def listed(names: Names) -> list[str]:
    """Make a list of one name or of several."""
    return [names] if isinstance(names, str) else list(names)
