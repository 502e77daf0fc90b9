"""Copies the starter scenario to a new folder."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from simstore.errors import SimstoreError


def write_starter(folder: Path) -> list[str]:
    """Write the starter's files into ``folder``, which must be missing or empty; return their names.

    Raises
    ------
    SimstoreError
        If the folder holds anything, is a file, or cannot be written.
    """
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            msg = f"{folder}: exists already and is left as it is; name a new folder"
            raise SimstoreError(msg)
        folder.mkdir(parents=True, exist_ok=True)
        names = []
        for source in sorted(files("simstore.scenario").joinpath("starter").iterdir(), key=lambda item: item.name):
            if source.is_file():
                (folder / source.name).write_bytes(source.read_bytes())
                names.append(source.name)
    except OSError as error:
        msg = f"{folder}: cannot be written: {error.strerror or error}"
        raise SimstoreError(msg) from error
    return names
