"""Line numbers of the keys of a TOML text, which the standard reader does not keep.

The text is walked line by line; a statement grows until the reader accepts it, so that strings and arrays over
several lines, quoted keys and inline tables need no grammar of their own.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

from simstore.scenario.checking.finding import KeyPath

Lines = dict[KeyPath, int]


def line_index(text: str) -> Lines:
    """Line, counted from 1, of every key path of a valid TOML text.

    Parameters
    ----------
    text : str
        A text that ``tomllib`` accepts.

    Returns
    -------
    dict
        Tables at the line of their header, entries at the line where their statement begins. The elements of arrays of
        tables carry their number in the path.
    """
    lines: Lines = {}
    prefix: KeyPath = ()
    counts: dict[KeyPath, int] = {}
    for number, chunk, table in _statements(text):
        if chunk.lstrip().startswith("["):
            keys = _header_keys(table)
            prefix = _resolved(keys, counts)
            if chunk.lstrip().startswith("[["):
                counts[prefix] = counts.get(prefix, -1) + 1
                lines.setdefault(prefix, number)
                prefix = (*prefix, counts[prefix])
            lines.setdefault(prefix, number)
            for cut in range(1, len(prefix)):
                lines.setdefault(prefix[:cut], number)
        else:
            for path in _paths(table):
                lines.setdefault((*prefix, *path), number)
    return lines


def line_of(lines: Lines, path: KeyPath) -> int | None:
    """Line of ``path``, or of the nearest table around it; None if nothing of it stands in the text."""
    for cut in range(len(path), 0, -1):
        if path[:cut] in lines:
            return lines[path[:cut]]
    return None


def _statements(text: str) -> Iterator[tuple[int, str, dict[str, Any]]]:
    """First line, text and value of each statement."""
    chunk, first = "", 0
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        if not chunk:
            if not line.strip() or line.lstrip().startswith("#"):
                continue
            first = number
        chunk = f"{chunk}\n{line}" if chunk else line
        try:
            table = tomllib.loads(chunk)
        except tomllib.TOMLDecodeError:
            continue
        yield first, chunk, table
        chunk = ""


def _header_keys(table: dict[str, Any]) -> tuple[str, ...]:
    """Keys of ``[a.b]`` or ``[[a.b]]``, read as a document of its own."""
    keys: list[str] = []
    here: Any = table
    while isinstance(here, dict) and here:
        key = next(iter(here))
        keys.append(key)
        here = here[key]
    return tuple(keys)


def _resolved(keys: tuple[str, ...], counts: dict[KeyPath, int]) -> KeyPath:
    """Path of a header, with the number of the last element of each array of tables it passes through."""
    path: KeyPath = ()
    for position, key in enumerate(keys):
        path = (*path, key)
        if path in counts and position < len(keys) - 1:
            path = (*path, counts[path])
    return path


def _paths(value: Any) -> Iterator[KeyPath]:
    """All key paths below ``value``, tables and leaves."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield (key,)
            for rest in _paths(part):
                yield (key, *rest)
    elif isinstance(value, list | tuple):
        for position, part in enumerate(value):
            yield (position,)
            for rest in _paths(part):
                yield (position, *rest)
