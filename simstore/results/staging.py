"""A result folder is written aside and put in its place in one step: it is the old one or the new one, never half.

The new folder is a hidden sibling, ``.NAME.HOST-PID.partial``. Where the system can exchange two folders in one step
(Linux), that is done; elsewhere the old one is moved aside first, and the next run puts it back if the process died
between the two moves. Siblings that dead processes of this machine left are removed.
"""

from __future__ import annotations

import ctypes
import os
import re
import shutil
import socket
import sys
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from simstore.errors import SimstoreError
from simstore.results.manifest import MANIFEST, altered_files, files_of, foreign_files

AT_FDCWD: Final = -100
RENAME_EXCHANGE: Final = 2
HOST: Final = f"{zlib.crc32(socket.gethostname().encode()):08x}"


@contextmanager
def staged_folder(out: Path, *, force: bool = False) -> Iterator[Path]:
    """Give an empty folder to fill; put it in the place of ``out`` when the block ends without error.

    Parameters
    ----------
    out : Path
        Result folder: missing, empty, or written by simstore before.
    force : bool
        Whether files of ours that somebody has changed may go.

    Yields
    ------
    Path
        The folder to fill; :data:`simstore.results.manifest.MANIFEST` must be in it in the end.

    Raises
    ------
    SimstoreError
        If ``out`` is a file or holds anything that simstore did not write, or cannot be written.
    """
    place = Path(os.path.realpath(out))
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        sweep(place)
        refuse_foreign(place, out, force=True)  # what was changed is looked for at the end, just before it would go
        stage = place.parent / f".{place.name}.{HOST}-{os.getpid()}.partial"
        if stage.exists():
            shutil.rmtree(stage)
        stage.mkdir()
    except OSError as error:
        raise _cannot_write(out, error) from error
    try:
        yield stage
        _sync(stage)
        refuse_foreign(place, out, force=force)
        _put_in_place(stage, place)
    except OSError as error:
        raise _cannot_write(out, error) from error
    finally:
        shutil.rmtree(stage, ignore_errors=True)


def refuse_foreign(place: Path, shown: Path, *, force: bool = False) -> None:
    """Refuse a place that holds what simstore did not write, or what was changed since; and the folder one is in.

    Raises
    ------
    SimstoreError
        With the first few names that are in the way.
    """
    whole = Path(os.path.realpath(place))
    if whole == whole.parent or Path.cwd().is_relative_to(whole):
        msg = f"{shown}: is the folder that you are in, or one above it; go elsewhere, or name another folder"
        raise SimstoreError(msg)
    around = next((folder for folder in whole.parents if (folder / MANIFEST).exists()), None)
    if around is not None and foreign_files(around) != files_of(around):
        msg = f"{shown}: lies in a folder of results, {around}; name a folder beside it"
        raise SimstoreError(msg)
    if not place.exists():
        return
    if not place.is_dir():
        msg = f"{shown}: is a file, not a folder; name another folder with --out"
        raise SimstoreError(msg)
    foreign = foreign_files(place)
    if foreign:
        listed = ", ".join(foreign[:3]) + (", ..." if len(foreign) > 3 else "")
        msg = (
            f"{shown}: holds files that simstore did not write ({listed}) and is left as it is; "
            "name another folder with --out, or move these files away"
        )
        raise SimstoreError(msg)
    changed = [] if force else [name for name in altered_files(place) if (place / name).exists()]
    if changed:
        msg = (
            f"{shown}: somebody has changed {', '.join(changed[:3])}{', ...' if len(changed) > 3 else ''} since; "
            "nothing was written: move what you want to keep away, or name another folder"
        )
        raise SimstoreError(msg)


def sweep(place: Path) -> None:
    """Put back an old result that a dead process had moved aside, and remove what dead processes left."""
    pattern = re.compile(rf"\.{re.escape(place.name)}\.{HOST}-(\d+)\.(partial|old)")
    for sibling in sorted(place.parent.iterdir()):
        match = pattern.fullmatch(sibling.name)
        if match is None or _is_alive(int(match[1])):
            continue
        if match[2] == "old" and not place.exists() and (sibling / MANIFEST).exists():
            sibling.rename(place)
        else:
            shutil.rmtree(sibling, ignore_errors=True)


def _put_in_place(stage: Path, place: Path) -> None:
    if place.exists() and not _exchange(stage, place):
        aside = stage.with_suffix(".old")
        place.rename(aside)
        stage.rename(place)
        shutil.rmtree(aside, ignore_errors=True)
    elif stage.exists() and not place.exists():
        stage.rename(place)
    _sync_folder(place.parent)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; False where the system cannot."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError):
        return False
    done = renameat2(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE)
    return int(done) == 0


def _sync(folder: Path) -> None:
    for name in files_of(folder):
        with (folder / name).open("rb") as file:
            os.fsync(file.fileno())
    for inner in [folder, *(path for path in folder.rglob("*") if path.is_dir())]:
        _sync_folder(inner)


def _sync_folder(folder: Path) -> None:
    with suppress(OSError):  # some systems cannot open or sync a folder
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _cannot_write(out: Path, error: OSError) -> SimstoreError:
    reason = error.strerror or str(error)
    return SimstoreError(
        f"{out}: cannot be written: {reason}; check the disk and its permissions, or name another --out"
    )
