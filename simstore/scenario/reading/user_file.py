"""Reads a file that the user names: a file and nothing else, and no larger than such files are."""

from __future__ import annotations

import errno
import stat
from pathlib import Path
from typing import Final

MOST_BYTES: Final = 400_000_000
"""Thirty years of hourly air take a tenth of that."""


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
