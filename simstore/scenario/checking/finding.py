"""A broken rule before it is known which file and line it stands in, and how to suggest the word that was meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

KeyPath = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One broken rule at one key of a scenario.

    Attributes
    ----------
    path : tuple of str and int
        Keys from the outside in: ``("kinds", "clip_box", "layers", 0, "film")``.
    rule, value, cure : str
        As in :class:`simstore.errors.Problem`.
    """

    path: KeyPath
    rule: str
    value: str = ""
    cure: str = ""


def dotted(path: KeyPath) -> str:
    """Write ``path`` as the user reads it: ``kinds.clip_box.layers.0.film``."""
    return ".".join(str(part) for part in path)


def shown(value: object) -> str:
    """Write a value as it stands in a TOML file, cut to a readable length."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, dict):
        text = "{" + ", ".join(f"{key} = {shown(part)}" for key, part in value.items()) + "}"
    elif isinstance(value, list | tuple):
        text = "[" + ", ".join(shown(part) for part in value) + "]"
    else:
        text = str(value)
        if isinstance(value, float):
            text = text.removesuffix(".0")
    text = text.replace("\n", " ").replace("\r", " ")
    return text if len(text) <= 60 else text[:57] + "..."


def suggestion(word: str, allowed: Iterable[str], *, known_as: str = "allowed here") -> str:
    """Cure for an unknown ``word``: the nearest of ``allowed``, or all of them."""
    names = sorted(set(allowed))
    if not names:
        return "none is defined"
    by_fold = {name.casefold(): name for name in names}
    close = difflib.get_close_matches(word.casefold(), list(by_fold), n=1, cutoff=0.6)
    if close:
        return f"did you mean '{by_fold[close[0]]}'?"
    listed = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
    return f"{known_as}: {listed}"
