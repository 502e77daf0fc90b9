"""Finished simulations on disk, so that an interrupted search goes on where it was.

A simulation is known by a hash of all that it follows from (`simstore.lab.fingerprint`).
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from simstore.errors import SimstoreError
from simstore.lab.fingerprint import fingerprint
from simstore.plans.candidates import Candidate
from simstore.results.metrics import MetricValue
from simstore.scenario.scenario import Scenario

Measured = list[MetricValue]
"""All metrics of one simulation."""


class Checkpoint:
    """A file of finished simulations.

    Parameters
    ----------
    path : Path
        SQLite file; made if it is missing.
    scenario : Scenario
        As the user gave it, with the seed that is used.

    Raises
    ------
    SimstoreError
        If the file is not one of ours or cannot be written.
    """

    def __init__(self, path: Path, scenario: Scenario) -> None:
        self.path = path
        self._common = fingerprint(scenario)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = sqlite3.connect(path)
            self._file.execute("CREATE TABLE IF NOT EXISTS simulations (key TEXT PRIMARY KEY, metrics TEXT NOT NULL)")
            self._file.commit()
        except (sqlite3.Error, OSError) as error:
            msg = f"{path}: cannot keep finished simulations here ({error}); name another file with --resume"
            raise SimstoreError(msg) from error

    def find(self, candidate: Candidate, replication: int) -> Measured | None:
        """Return a finished simulation, or None."""
        row = self._file.execute(
            "SELECT metrics FROM simulations WHERE key = ?", (self._key(candidate, replication),)
        ).fetchone()
        if row is None:
            return None
        return [MetricValue(m, u, float("nan") if v is None else v) for m, u, v in json.loads(row[0])]

    def keep(self, candidate: Candidate, replication: int, measured: Measured) -> None:
        """Write down a finished simulation at once."""
        rows = [(m.metric, m.unit, None if m.value != m.value else m.value) for m in measured]
        self._file.execute(
            "INSERT OR REPLACE INTO simulations VALUES (?, ?)",
            (self._key(candidate, replication), json.dumps(rows)),
        )
        self._file.commit()

    def close(self) -> None:
        """Close the file and leave it where it is."""
        self._file.close()

    def remove(self) -> None:
        """Close the file and remove it."""
        self.close()
        with suppress(OSError):
            self.path.unlink()

    def _key(self, candidate: Candidate, replication: int) -> str:
        text = json.dumps([self._common, candidate.base, candidate.changes, replication])
        return hashlib.sha256(text.encode()).hexdigest()


@contextmanager
def kept_simulations(path: Path, scenario: Scenario, *, stays: bool) -> Iterator[Checkpoint]:
    """Open a checkpoint; remove it after a block that ended well, unless it ``stays``."""
    checkpoint = Checkpoint(path, scenario)
    try:
        yield checkpoint
    except BaseException:
        checkpoint.close()
        raise
    if stays:
        checkpoint.close()
    else:
        checkpoint.remove()
