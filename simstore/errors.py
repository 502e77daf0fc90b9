"""What goes wrong because of the user's data, said in one message that names every problem."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

LONGEST = 100
"""Letters of a key that are shown."""
MOST_ALIKE = 5
EXAMPLES = 3
"""More problems of one sort than the first are told in one line, with so many examples."""


class SimstoreError(Exception):
    """A failure that the user can mend; its only argument is the finished message."""


def cut(text: str) -> str:
    """Shorten a word that is longer than anybody reads."""
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 3]}..."


def visible(text: str) -> str:
    """Write signs that a terminal would obey, or that would turn the order of letters, as their codes."""
    return "".join(sign if sign == "\n" or not _is_unseen(sign) else f"<{ord(sign):04X}>" for sign in text)


def holds_unseen(text: str) -> bool:
    """Whether a text holds signs that nobody sees and terminals obey; tabs and ends of line are none."""
    return any(_is_unseen(sign) and sign not in "\n\r" for sign in text)


def _is_unseen(sign: str) -> bool:
    return sign != "\t" and unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp")


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong in one place of the user's data.

    Attributes
    ----------
    file : str
        Name of the file as the user knows it, relative to the scenario.
    line : int or None
        Line of the file, counted from 1; None where the file has none (a missing file).
    cell : str
        Sheet and cell, where the file is a workbook.
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
    cell: str = ""
    key: str = ""
    value: str = ""
    cure: str = ""

    def __str__(self) -> str:
        place = f"{self.file}, {self.cell}" if self.cell else self.file
        if self.line is not None and not self.cell:
            place = f"{self.file}:{self.line}"
        subject = " = ".join(part for part in (cut(self.key), self.value) if part)
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
    return SimstoreError(visible(f"{what}: {count} {noun}{lines}"))


def _said(alike: list[Problem]) -> Iterator[str]:
    """Say problems that differ in line and value only: each by itself, or many with three examples."""
    first = alike[0]
    if len(alike) <= MOST_ALIKE or any(problem.line is None for problem in alike):
        yield from dict.fromkeys(str(problem) for problem in alike)
        return
    examples = ", ".join(
        f"{each.cell or f'line {each.line}'}{f' ({each.value})' if each.value else ''}" for each in alike[:EXAMPLES]
    )
    subject = f"{first.key}: " if first.key else ""
    cures = list(dict.fromkeys(each.cure for each in alike if each.cure))
    cure = f"; {cures[0]}" if cures else ""
    yield f"{first.file}: {subject}{first.rule}, in {len(alike)} rows, such as {examples}{cure}"
