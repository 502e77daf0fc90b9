"""Finished simulations on disk, so that nothing is simulated twice and an interrupted command goes on where it was.

One SQLite file, for every command alike. A simulation is known by a hash of all that it follows from, and is
written down as soon as it is there: with a write-ahead log that costs a tenth of a millisecond, and a process or a
machine that stops leaves a sound file.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from simstore.errors import SimstoreError

OURS: Final = 0x53494D53
"""Marks the file as one of simstore ("SIMS"); SQLite keeps such a number for its users."""
FORMAT: Final = 1
INSIDE: Final = "simulations.sqlite"
"""Name of the file where a folder is given."""
PATIENCE_S: Final = 60.0
"""So long another command that writes into the same file is waited for."""
MOST_ASKED: Final = 500
"""Keys in one question; SQLite takes 999 at least."""


class Cache:
    """A file of finished simulations.

    Parameters
    ----------
    path : Path
        The file; it is made if it is missing. In a folder that exists it is called ``simulations.sqlite``.

    Raises
    ------
    SimstoreError
        If the file is not one of ours, is damaged, or cannot be written.
    """

    def __init__(self, path: Path) -> None:
        self.path = path / INSIDE if path.is_dir() else path
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self._file = sqlite3.connect(self.path, timeout=PATIENCE_S, isolation_level=None)
            try:
                self._begin()
            except BaseException:
                self._file.close()
                raise
        except (sqlite3.Error, OSError) as error:
            raise self._broken(error) from error

    def _begin(self) -> None:
        (mark,) = self._file.execute("PRAGMA application_id").fetchone()
        (number,) = self._file.execute("PRAGMA user_version").fetchone()
        (tables,) = self._file.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if tables and (mark, number) != (OURS, FORMAT):
            msg = "it is a database of another program, or of another version of simstore"
            raise sqlite3.DatabaseError(msg)
        self._file.execute("PRAGMA journal_mode=WAL")  # stays as it is where the disk does not allow it
        self._file.execute("PRAGMA synchronous=NORMAL")
        self._file.execute("CREATE TABLE IF NOT EXISTS simulations (key BLOB PRIMARY KEY, kept BLOB NOT NULL)")
        self._file.execute(f"PRAGMA application_id={OURS}")
        self._file.execute(f"PRAGMA user_version={FORMAT}")

    def known(self, keys: Sequence[bytes]) -> set[bytes]:
        """Those of ``keys`` that are kept."""
        found: set[bytes] = set()
        for first in range(0, len(keys), MOST_ASKED):
            some = keys[first : first + MOST_ASKED]
            marks = ",".join("?" * len(some))
            rows = self._asked(f"SELECT key FROM simulations WHERE key IN ({marks})", some)  # noqa: S608, marks only
            found.update(key for (key,) in rows)
        return found

    def find(self, key: bytes) -> bytes | None:
        """Return what is kept of a finished simulation, or None."""
        rows = self._asked("SELECT kept FROM simulations WHERE key = ?", (key,))
        return rows[0][0] if rows else None

    def keep(self, key: bytes, kept: bytes) -> None:
        """Write down a finished simulation at once."""
        self._asked("INSERT OR REPLACE INTO simulations VALUES (?, ?)", (key, kept))

    def close(self) -> None:
        """Close the file and leave it where it is."""
        self._file.close()

    def remove(self) -> None:
        """Close the file and remove it."""
        self.close()
        with suppress(OSError):
            self.path.unlink()

    def unreadable(self) -> SimstoreError:
        """Make the message about an entry that is not what was written."""
        return self._broken("an entry is not what simstore wrote")

    def _asked(self, question: str, values: Sequence[bytes]) -> list[tuple[bytes, ...]]:
        try:
            return self._file.execute(question, values).fetchall()
        except sqlite3.Error as error:
            raise self._broken(error) from error

    def _broken(self, reason: object) -> SimstoreError:
        return SimstoreError(
            f"{self.path}: finished simulations cannot be kept here: {reason}; remove the file if it is damaged, or "
            "name another one with --keep"
        )


def key_of(fingerprint: str, replication: int, harvest: str) -> bytes:
    """Key of what one harvest keeps of one replication."""
    return hashlib.sha256(json.dumps([fingerprint, replication, harvest]).encode()).digest()


@contextmanager
def open_cache(path: Path, *, stays: bool = True) -> Iterator[Cache]:
    """Open a cache; remove it after a block that ended well, unless it ``stays``."""
    cache = Cache(path)
    try:
        yield cache
    except BaseException:
        cache.close()
        raise
    if stays:
        cache.close()
    else:
        cache.remove()
