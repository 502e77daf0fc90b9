"""What goes wrong because of the user's data, said in one message that names every problem."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class SimstoreError(Exception):
    """A failure that the user can mend; its only argument is the finished message."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong in one place of the user's data.

    Attributes
    ----------
    file : str
        Name of the file as the user knows it, relative to the scenario.
    line : int or None
        Line of the file, counted from 1; None where the file has none (a missing file).
    key : str
        Key path or column, such as ``ovens.small.trays`` or ``volume_m3``; empty for a whole file.
    value : str
        What stands there, as the user wrote it; empty if nothing does.
    rule : str
        What is wrong, with the allowed range: "is below 0", "must lie in 0..100 %RH".
    cure : str
        What to do about it: "did you mean 'seed'?", "give litres divided by 1000".
    """

    file: str
    rule: str
    line: int | None = None
    key: str = ""
    value: str = ""
    cure: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        subject = " = ".join(part for part in (self.key, self.value) if part)
        cure = f"; {self.cure}" if self.cure else ""
        return f"{place}: {subject}: {self.rule}{cure}" if subject else f"{place}: {self.rule}{cure}"


def error_from(problems: Iterable[Problem], what: str) -> SimstoreError:
    """One error that lists all ``problems`` of ``what``, one a line, in the order given."""
    listed = list(dict.fromkeys(str(problem) for problem in problems))
    noun = "problem" if len(listed) == 1 else "problems"
    lines = "".join(f"\n  - {text}" for text in listed)
    return SimstoreError(f"{what}: {len(listed)} {noun}{lines}")
