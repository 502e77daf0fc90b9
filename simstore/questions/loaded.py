"""A store that has been read, and how questions about it are answered."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, cast

from simstore.questions.options import How, PathText

if TYPE_CHECKING:
    from simstore.lab.bench import Bench
    from simstore.scenario.scenario import Scenario

Progress = Callable[[int, int], None]
Tick = Callable[[int], None]
Say = Callable[[str], None]


class Watch(Protocol):
    """Somebody who watches while simulations run."""

    def progress(self, what: str) -> AbstractContextManager[Progress]:
        """Give a callable that is told how many of how many are done."""

    def search(self) -> AbstractContextManager[tuple[Tick, Say]]:
        """Give two callables: one is told the number of simulations done, one what is being done."""


class Nobody:
    """Nobody watches."""

    def progress(self, what: str) -> AbstractContextManager[Progress]:  # noqa: ARG002
        """Give a callable that does nothing."""
        return nullcontext(lambda _done, _total: None)

    def search(self) -> AbstractContextManager[tuple[Tick, Say]]:
        """Give two callables that do nothing."""
        return nullcontext((lambda _done: None, lambda _text: None))


class Loaded:
    """A store with its plans.

    Attributes
    ----------
    scenario : Scenario
        As it was read, with the seed that is used.
    """

    def __init__(self, scenario: Scenario, how: How | None = None, watch: Watch | None = None) -> None:
        self.scenario = scenario
        self.how: How = how or {}
        self.watch: Watch = watch or Nobody()

    @property
    def plans(self) -> tuple[str, ...]:
        """Names of its plans."""
        return tuple(self.scenario.settings.plans)

    def __repr__(self) -> str:
        settings = self.scenario.settings
        return (
            f"<Store '{settings.title}': {len(self.scenario.enclosures)} enclosures, plans {', '.join(self.plans)}; "
            f"seed {settings.seed}>"
        )


@dataclass(frozen=True, slots=True)
class Asking:
    """One question on its way.

    Attributes
    ----------
    scenario : Scenario
        As the user gave it, with the seed that is used.
    how : How
        Options of every question.
    watch : Watch
    """

    scenario: Scenario
    how: How
    watch: Watch

    @contextmanager
    def bench(self, scenario: Scenario, what: str = "") -> Iterator[Bench]:
        """Give a bench for ``scenario``; ``what`` stands beside the bar, and without it no single call shows one."""
        from simstore.lab.bench import Bench
        from simstore.lab.cache import open_cache

        keep = self.how.get("keep")
        with ExitStack() as opened:
            cache = None if keep is None else opened.enter_context(open_cache(Path(keep)))
            progress = opened.enter_context(self.watch.progress(what)) if what else None
            bench = Bench(scenario, workers=self.how.get("workers") or processors(), cache=cache, progress=progress)
            yield opened.enter_context(bench)


Source = PathText | Loaded
"""A store: where it lies, or one that has been loaded."""


def asking(store: Source, how: How) -> Asking:
    """Begin a question about a store.

    Raises
    ------
    SimstoreError
        If the store is not in order.
    """
    if not isinstance(store, Loaded):
        return Asking(read(store, how.get("seed")), how, Nobody())
    both = cast("How", {**store.how, **{key: value for key, value in how.items() if value is not None}})
    return Asking(reseeded(store.scenario, how.get("seed")), both, store.watch)


def read(path: PathText, seed: int | None = None) -> Scenario:
    """Read a scenario, with another seed if there is one."""
    from simstore.scenario.reading.load import load_scenario

    return load_scenario(Path(path), changes={} if seed is None else {"seed": seed})


def reseeded(scenario: Scenario, seed: int | None) -> Scenario:
    """Give the scenario another seed; without one it stays as it is."""
    return scenario if seed is None else scenario.with_changes({"seed": seed}, what=f"seed {seed}")


def processors() -> int:
    """Count the processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
