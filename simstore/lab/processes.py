"""A pool of processes on this machine that do a bench's work.

What a process gets at its start is small, whatever the size of the store: a start that fails while the parent still
writes into a full pipe would otherwise hang for ever. The scenario lies in a file, or is there already where the
process is a copy of this one.
"""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import sys
import tempfile
import threading
from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import process
from pathlib import Path
from typing import Final, Literal, NoReturn

from simstore.lab.parcels import packed_scenario
from simstore.lab.workplace import Sent, Workplace, dismiss, install

StartMethod = Literal["fork", "spawn", "forkserver"]
ONE_THREAD_ONLY: Final = Path("/proc/self/task")
"""Has one entry for each thread of this process; Linux only."""
MOST_ON_WINDOWS: Final = 61
"""Handles that Windows waits for at once, less those of the pool itself."""
NO_MAIN_GUARD: Final = (
    "a script that simulates with several workers must keep what it runs below a line "
    "'if __name__ == \"__main__\":', since every worker reads the script too"
)


def start_method() -> StartMethod:
    """Choose how worker processes begin: as copies of this one where that is safe, else from nothing.

    A copy saves each worker the time to load numpy and the scenario (measured: a third of the time of a small run),
    but a process with more than one thread must not be copied: a lock that another thread holds stays locked for ever.
    """
    try:
        threads = len(list(ONE_THREAD_ONLY.iterdir()))
    except OSError:
        return "spawn"
    return "fork" if threads == 1 else "spawn"


class Processes:
    """Worker processes for one scenario.

    Parameters
    ----------
    workplace : Workplace
    key : str
        Names the scenario.
    workers : int
        Number of processes.
    start : {"fork", "spawn", "forkserver"}
        How they begin.
    """

    def __init__(self, workplace: Workplace, key: str, workers: int, start: StartMethod) -> None:
        if getattr(process.current_process(), "_inheriting", False):
            _refuse_to_begin()
        self.folder = Path(tempfile.mkdtemp(prefix="simstore-"))
        self._key = key
        path = ""
        if start == "fork":
            install(key, workplace)
        else:
            file = self.folder / "scenario"
            file.write_bytes(packed_scenario(workplace.scenario))
            path = str(file)
        self.sent = Sent(key, path, folder=str(self.folder))
        if sys.platform == "win32":
            workers = min(workers, MOST_ON_WINDOWS)
        self._pool = ProcessPoolExecutor(
            workers,
            mp_context=multiprocessing.get_context(start),
            initializer=_begin,
            initargs=(str(self.folder),),
        )

    @property
    def executor(self) -> Executor:
        """Takes the work."""
        return self._pool

    def began(self) -> bool:
        """Whether any of the processes got as far as its work."""
        return any(self.folder.glob("began-*"))

    def end(self, *, now: bool = False) -> None:
        """End the processes: when they have done what they are at, or ``now``."""
        running = list((self._pool._processes or {}).values()) if now else []
        for each in running:
            each.terminate()
        self._pool.shutdown(wait=True, cancel_futures=True)
        dismiss(self._key)
        shutil.rmtree(self.folder, ignore_errors=True)


def _refuse_to_begin() -> NoReturn:
    """End a worker whose start has come to run the user's script, and so to want workers of its own."""
    sys.stderr.write(f"error: {NO_MAIN_GUARD}\n")
    sys.stderr.flush()
    os._exit(1)  # nothing less ends a process in which the script has left threads running


def _begin(folder: str) -> None:
    """Leave Ctrl-C to the parent, and end when the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_DFL)
    threading.Thread(target=_end_with_parent, args=(folder,), daemon=True).start()
    Path(folder, f"began-{os.getpid()}").touch()


def _end_with_parent(folder: str) -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        shutil.rmtree(folder, ignore_errors=True)
        os._exit(1)
