"""A progress bar on the error stream, where somebody is watching it; and what is loaded while workers simulate."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from importlib import import_module
from typing import Final

LATER_NEEDS: Final = ("pandas", "scipy.special")
CHARTS: Final = ("simstore.report.charts.year", "simstore.report.charts.decisions")


class OnScreen:
    """Shows progress, and loads what this process needs afterwards while the workers simulate.

    Parameters
    ----------
    charts : bool
        Whether charts will be drawn.
    """

    def __init__(self, *, charts: bool) -> None:
        self._needs = [*LATER_NEEDS, *(CHARTS if charts else ())]

    @contextmanager
    def progress(self, what: str) -> Iterator[Callable[[int, int], None]]:
        """Give a callable that takes (done, total)."""
        with shown_progress(what) as shown:

            def progress(done: int, total: int) -> None:
                if done == 0:  # the workers have begun
                    self._load()
                shown(done, total)

            yield progress

    @contextmanager
    def search(self) -> Iterator[tuple[Callable[[int], None], Callable[[str], None]]]:
        """Give a callable that takes the number of simulations done, and one that takes what is being done."""
        with shown_search() as both:
            yield both

    def _load(self) -> None:
        needs, self._needs = self._needs, []
        if needs:
            threading.Thread(target=lambda: [import_module(name) for name in needs], daemon=True).start()


@contextmanager
def shown_progress(what: str) -> Iterator[Callable[[int, int], None]]:
    """Give a callable that takes (done, total) and shows it; it does nothing where the error stream is no terminal.

    The bar begins with the first call, so that no thread runs before the workers have begun.
    """
    with ExitStack() as open_bar:
        update: list[Callable[[int, int], None]] = []

        def show(done: int, total: int) -> None:
            if not sys.stderr.isatty():
                return
            if not update:
                update.append(_begun(what, open_bar))
            update[0](done, total)

        yield show


def _begun(what: str, open_bar: ExitStack) -> Callable[[int, int], None]:
    from rich.console import Console
    from rich.progress import Progress

    bar = open_bar.enter_context(Progress(console=Console(stderr=True), transient=True))
    task = bar.add_task(what, total=None)
    return lambda done, total: bar.update(task, completed=done, total=total)


@contextmanager
def shown_search() -> Iterator[tuple[Callable[[int], None], Callable[[str], None]]]:
    """Give two callables for a search: one takes the number of simulations done, one says what is being done.

    They do nothing where the error stream is no terminal. The bar begins with the first simulation that is done, so
    that no thread runs before the workers have begun.
    """
    with ExitStack() as open_bar:
        update: list[Callable[[int, str], None]] = []
        doing = ["searching"]

        def tick(done: int) -> None:
            if sys.stderr.isatty():
                if not update:
                    update.append(_counting(open_bar))
                update[0](done, doing[0])

        def say(text: str) -> None:
            doing[0] = text
            if sys.stderr.isatty() and not update:
                sys.stderr.write(f"{text} ...\n")

        yield tick, say


def _counting(open_bar: ExitStack) -> Callable[[int, str], None]:
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    bar = open_bar.enter_context(Progress(*columns, console=Console(stderr=True), transient=True))
    task = bar.add_task("searching", total=None)
    return lambda done, text: bar.update(task, description=f"{text}: {done} simulated years")
