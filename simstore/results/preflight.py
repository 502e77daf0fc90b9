"""Looks before a long simulation whether what comes of it can be written at all."""

from __future__ import annotations

import os
import shutil
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from simstore.errors import SimstoreError
from simstore.results.staging import refuse_foreign

LEAST_FREE_BYTES: Final = 50_000_000
"""Room on the disk without which nothing is begun; tables of a large store take more."""


def look_ahead(out: Path, *, parquet: bool = False) -> None:
    """Try the place of the results, the room on its disk, and what a format needs.

    Parameters
    ----------
    out : Path
        Folder of the results, which need not be there yet.
    parquet : bool
        Whether tables are to be written as Parquet too.

    Raises
    ------
    SimstoreError
        With the cure.
    """
    if parquet and find_spec("pyarrow") is None:
        msg = "--parquet needs pyarrow: pip install 'simstore[parquet]', or leave the option out; nothing was simulated"
        raise SimstoreError(msg)
    place = Path(os.path.realpath(out))
    try:
        refuse_foreign(out, out)
        around = next((folder for folder in place.parents if folder.exists()), place.parent)
        trial = around / f".{place.name}.{os.getpid()}.trial"
        if not around.is_dir():
            raise NotADirectoryError(20, f"{around} is a file")
        trial.mkdir()
        trial.rmdir()
        free = shutil.disk_usage(around).free
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        msg = f"{out}: cannot be written: {reason}; name another --out; nothing was simulated"
        raise SimstoreError(msg) from error
    if free < LEAST_FREE_BYTES:
        msg = (
            f"{out}: the disk has {free / 1e6:.0f} MB left and results need {LEAST_FREE_BYTES / 1e6:.0f} or more; make "
            "room, or name another --out; nothing was simulated"
        )
        raise SimstoreError(msg)
