"""Where the compiled step is kept, so that it is compiled once on a machine; numba is not loaded to know it."""

from __future__ import annotations

import functools
import hashlib
import importlib.metadata
import os
import sys
from pathlib import Path
from typing import Final

SLOW_NOTE: Final = (
    "the step in time runs uncompiled: the same results, some hundred times more slowly; install numba to compile it"
)


@functools.cache
def compiler_version() -> str:
    """Version of numba; empty where it is not installed or not wanted (``SIMSTORE_UNCOMPILED=1``)."""
    if os.environ.get("SIMSTORE_UNCOMPILED", "") not in ("", "0"):
        return ""
    try:
        return importlib.metadata.version("numba")
    except importlib.metadata.PackageNotFoundError:
        return ""


@functools.cache
def cache_folder() -> Path:
    """Folder of what is compiled: in the user's cache, by the text of this room and the versions that matter."""
    digest = hashlib.sha256(f"{sys.version} {compiler_version()}".encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or str(Path.home() / ".cache")
    return Path(base) / "simstore" / f"step-{digest.hexdigest()[:16]}"


def is_kept() -> bool:
    """Whether compiled code of this version is on the disk already, so that nothing need be compiled."""
    return not compiler_version() or any(cache_folder().glob("**/*.nbi"))
