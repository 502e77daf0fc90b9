"""Make one constant or function of simstore wrong for a while, wherever it is known."""

from __future__ import annotations

import contextlib
import functools
import importlib
import sys
from collections.abc import Iterator
from types import FunctionType
from typing import Any

FACTOR = 1.2


@contextlib.contextmanager
def wrong(name: str, factor: float = FACTOR) -> Iterator[None]:
    """Multiply a constant, or what a function or method gives, by ``factor``; ``name`` is its dotted name.

    Modules that have imported it get the wrong one too, and what was remembered is forgotten, before and after.
    """
    home, path = _home(name)
    *classes, last = path
    owner = functools.reduce(getattr, classes, home)
    right = getattr(owner, last)
    spoiled = _scaled_function(right, factor) if callable(right) else right * factor
    places = [(owner, last)] if classes else [*_known_to(right)]
    assert places, name
    _forget()
    for place, attribute in places:
        setattr(place, attribute, spoiled)
    try:
        yield
    finally:
        for place, attribute in places:
            setattr(place, attribute, right)
        _forget()


def _home(name: str) -> tuple[Any, list[str]]:
    parts = name.split(".")
    for cut in range(len(parts) - 1, 0, -1):
        try:
            return importlib.import_module(".".join(parts[:cut])), parts[cut:]
        except ModuleNotFoundError:
            continue
    raise ModuleNotFoundError(name)


def _known_to(right: Any) -> Iterator[tuple[Any, str]]:
    for module in list(sys.modules.values()):
        for attribute, value in list(vars(module).items()) if module is not None else []:
            if value is right:
                yield module, attribute


def _scaled_function(right: Any, factor: float) -> FunctionType:
    @functools.wraps(right)
    def spoiled(*args: Any, **named: Any) -> Any:
        return _scaled(right(*args, **named), factor)

    return spoiled


def _scaled(value: Any, factor: float) -> Any:
    return tuple(_scaled(each, factor) for each in value) if isinstance(value, tuple) else value * factor


def _forget() -> None:
    """Empty what functions of simstore remember."""
    for module in list(sys.modules.values()):
        if getattr(module, "__name__", "").partition(".")[0] == "simstore":
            for value in list(vars(module).values()):
                if callable(getattr(value, "cache_clear", None)):
                    value.cache_clear()
