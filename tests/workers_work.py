"""What workers do in tests; a module that a new process can import."""

import os
import signal
import time
from pathlib import Path

from simstore.errors import SimstoreError


def named(place, item):
    return item, place.scenario.settings.seed


def with_pid(place, item):
    return os.getpid()


def dies_once(place, item):
    """Kill this worker the first time that number 1 comes up; items are a folder and a number."""
    folder, number = Path(item[0]), item[1]
    with (folder / "starts").open("a") as log:
        log.write(f"{number}\n")
    if number == 1 and not (folder / "mark").exists():
        (folder / "mark").write_text("")
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def dies_always(place, item):
    os.kill(os.getpid(), signal.SIGKILL)


def refuses(place, item):
    msg = f"{item} cannot run"
    raise SimstoreError(msg)


def large(place, item):
    """A result that does not fit into a pipe."""
    return bytes([item]) * 300_000


def first_is_slow(place, item):
    if item == 0:
        time.sleep(0.5)
    return item
