"""A progress bar on the error stream, where somebody is watching it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager


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
