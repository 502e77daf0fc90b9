"""Writes a first scenario, with a remark at every section, into an empty folder."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from simstore.errors import SimstoreError

STARTER_FILES = ("scenario.toml", "register.csv")


def write_starter(folder: Path) -> tuple[Path, ...]:
    """Write the starter's files.

    Parameters
    ----------
    folder : Path
        Made if it does not exist; must be empty if it does.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    SimstoreError
        If there is something in the folder, or it cannot be written.
    """
    source = files("simstore.scenario").joinpath("starter")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            msg = f"{folder} is not empty; name a new folder, nothing was written"
            raise SimstoreError(msg)
        written = []
        for name in STARTER_FILES:
            (folder / name).write_bytes(source.joinpath(name).read_bytes())
            written.append(folder / name)
    except FileExistsError as error:
        msg = f"{folder} is a file; name a new folder, nothing was written"
        raise SimstoreError(msg) from error
    except OSError as error:
        msg = f"{folder} cannot be written ({error.strerror}); name a folder that you may write to"
        raise SimstoreError(msg) from error
    return tuple(written)
