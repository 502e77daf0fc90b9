"""A question: a function that takes a store and gives an answer, and what the command line has to know of it."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Final, TypeVar, get_type_hints

from simstore.questions.options import How

Ask = TypeVar("Ask", bound=Callable[..., object])
MARK: Final = "__question__"


@dataclass(frozen=True, slots=True)
class Marked:
    """What the command line has to know of a question besides its options.

    Attributes
    ----------
    reported : bool
        Whether a report can be written of its answer alone.
    goes_on : bool
        Whether finished runs are kept beside the result until it is done, since it takes long.
    """

    reported: bool
    goes_on: bool


def question(*, reported: bool = False, goes_on: bool = False) -> Callable[[Ask], Ask]:
    """Make a question of a function ``(store, ..., **how)``; its signature then names every option."""

    def marked(ask: Ask) -> Ask:
        setattr(ask, MARK, Marked(reported, goes_on))
        return ask

    return marked


def parameters_of(ask: Callable[..., object]) -> list[inspect.Parameter]:
    """List the options of a question: its own, then those of every question, with their annotations."""
    said = {
        name: text for name, text in ask.__annotations__.items() if name != "return"
    }  # which nothing has loaded yet
    own = get_type_hints(SimpleNamespace(__annotations__=said), vars(sys.modules[ask.__module__]), include_extras=True)
    shared = get_type_hints(How, include_extras=True)
    parameters = [
        parameter.replace(annotation=own[parameter.name])
        for parameter in list(inspect.signature(ask).parameters.values())[1:]
        if parameter.kind is not inspect.Parameter.VAR_KEYWORD
    ]
    parameters += [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=annotation)
        for name, annotation in shared.items()
    ]
    return parameters


def questions_of(holder: type) -> dict[str, Callable[..., object]]:
    """Find the questions among the methods of a class, in their order."""
    return {name: member for name, member in vars(holder).items() if hasattr(member, MARK)}


def marked_of(ask: Callable[..., object]) -> Marked:
    """Tell what the command line has to know of a question."""
    mark: Marked = getattr(ask, MARK)
    return mark
