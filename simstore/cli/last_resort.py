"""What happens when something fails that should not, or when somebody ends the program from outside."""

from __future__ import annotations

import contextlib
import os
import platform
import signal
import sys
import tempfile
import traceback
from types import FrameType
from typing import Final

INTERNAL: Final = 3
"""Exit code of an internal error."""
ENDINGS: Final = ("SIGTERM", "SIGHUP")
"""Signals that end the program as Ctrl-C does: what is finished is kept, nothing is half written."""


def end_as_by_hand() -> None:
    """Take the signals by which a system or a closed window ends a program as a Ctrl-C."""
    for name in ENDINGS:
        number = getattr(signal, name, None)
        if number is not None:
            with contextlib.suppress(ValueError):  # not in the main thread
                signal.signal(number, _interrupt)


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def told(error: BaseException) -> str:
    """Write a report of an internal error; return the message that says where it is.

    The report holds the traceback, the command and versions, and nothing of the user's data.
    """
    lines = [
        f"simstore {_version()}, Python {platform.python_version()}, {platform.platform()}",
        f"command: {' '.join(sys.argv[1:2])}",
        "",
        *traceback.format_exception(error),
    ]
    said = f"{type(error).__name__}: {error}".strip().splitlines()[0][:200]
    head = (
        f"simstore failed in a way that it should not ({said}). Nothing is half written; an older result is as it was"
    )
    try:
        handle, path = tempfile.mkstemp(prefix="simstore-report-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="replace") as file:
            file.write("\n".join(lines))
    except OSError as failed:
        return f"{head}. No report could be written ({failed.strerror or failed})"
    return f"{head}. A report for those who mend it is in {path}: please send it to them with what you did"


def out_of_memory() -> str:
    """Say what to do when the memory is not enough."""
    return (
        "the memory of this machine is not enough; take fewer --replications or --workers, or fewer enclosures or years"
    )


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("simstore")
    except PackageNotFoundError:
        return "(version unknown)"
