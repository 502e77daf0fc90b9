"""What goes wrong because of the user's data, said in one message that names every problem."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

MOST_ALIKE = 5
EXAMPLES = 3
"""More problems of one sort than the first are told in one line, with so many examples."""


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
    """One error that lists all ``problems`` of ``what``, in the order given; many of one sort are one line."""
    sorts: dict[tuple[str, str, str], list[Problem]] = {}
    for problem in dict.fromkeys(problems):
        sorts.setdefault((problem.file, problem.key, problem.rule), []).append(problem)
    listed = [text for alike in sorts.values() for text in _said(alike)]
    count = sum(len(alike) for alike in sorts.values())
    noun = "problem" if count == 1 else "problems"
    lines = "".join(f"\n  - {text}" for text in listed)
    return SimstoreError(f"{what}: {count} {noun}{lines}")


def _said(alike: list[Problem]) -> Iterator[str]:
    """Say problems that differ in line and value only: each by itself, or many with three examples."""
    first = alike[0]
    if len(alike) <= MOST_ALIKE or any(problem.line is None for problem in alike):
        yield from dict.fromkeys(str(problem) for problem in alike)
        return
    examples = ", ".join(f"line {each.line}{f' ({each.value})' if each.value else ''}" for each in alike[:EXAMPLES])
    subject = f"{first.key}: " if first.key else ""
    cures = list(dict.fromkeys(each.cure for each in alike if each.cure))
    cure = f"; {cures[0]}" if cures else ""
    yield f"{first.file}: {subject}{first.rule}, in {len(alike)} rows, such as {examples}{cure}"
