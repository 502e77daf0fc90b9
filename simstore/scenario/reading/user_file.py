"""Files that the user names: read if they are files and not too large, replaced in one step, kept as they were."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Final

from simstore.errors import SimstoreError

MOST_BYTES: Final = 400_000_000
"""Thirty years of hourly air take a tenth of that."""
BEFORE: Final = "{}.before"
"""Name under which a file that is changed stays as it was."""


def user_bytes(path: Path) -> bytes:
    """Content of a file.

    Raises
    ------
    OSError
        If it cannot be read, is a pipe or a device, or is far larger than any file that simstore reads.
    """
    status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        raise IsADirectoryError(errno.EISDIR, "is a folder, not a file", str(path))
    if not stat.S_ISREG(status.st_mode):
        raise OSError(errno.EINVAL, "it is a pipe or a device, not a file", str(path))
    if status.st_size > MOST_BYTES:
        raise OSError(
            errno.EFBIG, f"it has {status.st_size / 1e6:.0f} MB, {MOST_BYTES / 1e6:.0f} MB at most", str(path)
        )
    return path.read_bytes()


def named_bytes(path: Path, *, cure: str) -> bytes:
    """Content of a file that a command was told to read.

    Raises
    ------
    SimstoreError
        If it cannot be read, with the cure.
    """
    try:
        return user_bytes(path)
    except (OSError, ValueError) as error:
        msg = f"{path}: cannot be read ({why(error)}); {cure}"
        raise SimstoreError(msg) from error


def why(error: Exception) -> str:
    """Say in a few words why a file could not be read or written."""
    return getattr(error, "strerror", None) or str(error)


def put_in_place(path: Path, data: bytes) -> None:
    """Write a file beside its place and put it there in one step, over one that is there."""
    aside = path.with_name(f".{path.name}.partial")
    aside.write_bytes(data)
    os.replace(aside, path)  # noqa: PTH105
