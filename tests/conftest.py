"""What all tests share: what is made once for all processes, what comes first, what coverage leaves alone."""

from __future__ import annotations

import fcntl
import os
import pickle
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
FIRST = ("report/test_sample_report.py", "test_tutorial.py", "test_readme.py", "report/test_studies_in_report.py")
"""Single steps of these take longest: begun first, they do not keep one process waiting for the other in the end."""
UNCOUNTED = (
    "report/test_sample_report.py",
    "report/test_page_in_browser.py",
    "sim/test_queues.py",
    "sim/test_purchases.py",
    "study/test_cheapest.py",
    "study/test_common_luck.py",
    "study/test_coverage.py",
    "study/test_feasible_cheapest.py",
    "study/test_screen.py",
    "study/test_selection.py",
)
"""Experiments that repeat the same lines for many years: other tests reach these lines, so coverage does not look.

To count lines makes the simulation half as slow again. What is left out can only make the counted share smaller.
"""


def below(item: pytest.Item, places: tuple[str, ...]) -> bool:
    """Whether a test lies in one of the places, files or folders."""
    return any(item.path.is_relative_to(HERE / place) for place in places)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the longest steps first."""
    items.sort(key=lambda item: not below(item, FIRST))


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Count no lines in experiments, nor in what is set up for them."""
    coverage = getattr(item.config.pluginmanager.getplugin("_cov"), "cov_controller", None)
    if coverage is None or not below(item, UNCOUNTED):
        return (yield)
    coverage.pause()
    try:
        return (yield)
    finally:
        coverage.resume()


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, Callable[[Path], Any]], tuple[Path, Any]]:
    """Return a function that lets one process of the session make a folder, for all of them.

    It takes a name and what fills the empty folder of that name, and gives the folder and what that said, which must
    bear pickling. Nobody changes the folder.
    """
    top = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        top = top.parent

    def made(name: str, make: Callable[[Path], Any]) -> tuple[Path, Any]:
        folder, said = top / "made_once" / name, top / "made_once" / f"{name}.pickle"
        folder.parent.mkdir(exist_ok=True)
        with alone(folder.with_suffix(".lock")):
            if not said.exists():
                folder.mkdir()
                said.write_bytes(pickle.dumps(make(folder)))
        return folder, pickle.loads(said.read_bytes())

    return made


@contextmanager
def alone(lock: Path) -> Iterator[None]:
    """Hold a lock file that only one process can hold."""
    with lock.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
