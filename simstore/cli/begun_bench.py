"""The bench on which a command simulates, with what its options say, and its progress on the screen."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from simstore.cli.progress import shown_progress
from simstore.lab.bench import Bench
from simstore.lab.cache import open_cache
from simstore.scenario.scenario import Scenario


@contextmanager
def begun_bench(scenario: Scenario, what: str, *, workers: int | None, keep: Path | None) -> Iterator[Bench]:
    """Give a bench for ``scenario``.

    Parameters
    ----------
    scenario : Scenario
    what : str
        Stands beside the progress bar.
    workers : int or None
        Processes; one for each processor where nothing is said.
    keep : Path or None
        File for finished simulations.
    """
    with ExitStack() as open_things:
        cache = None if keep is None else open_things.enter_context(open_cache(keep))
        progress = open_things.enter_context(shown_progress(what))
        bench = Bench(scenario, workers=workers or processors(), cache=cache, progress=progress)
        yield open_things.enter_context(bench)


def processors() -> int:
    """Count the processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
