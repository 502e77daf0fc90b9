"""What goes to a worker process and comes back: small things as they are, large ones as the name of a file.

A process may be killed while it writes. Where it was writing into a pipe that others share, the reader would wait for
the rest for ever. What fits into one write of a pipe is there as a whole or not at all, and a file is named only when
it is complete.
"""

from __future__ import annotations

import os
import pickle
import tempfile
import zlib
from pathlib import Path
from typing import Any, Final

from simstore.scenario.scenario import Scenario

ATOMIC: Final = 3000
"""Bytes that go into a pipe in one piece, with what the executor adds: Linux grants 4096."""

Parcel = bytes | str


def packed(things: object, folder: str) -> Parcel:
    """Pack things; into a file of ``folder`` if they are large and there is such a folder."""
    data = pickle.dumps(things, protocol=5)
    if len(data) <= ATOMIC or not folder:
        return data
    handle, path = tempfile.mkstemp(dir=folder, prefix="parcel-")
    with os.fdopen(handle, "wb") as file:
        file.write(data)
    return path


def opened(parcel: Parcel) -> Any:
    """Unpack things; both sides run the same program and trust each other."""
    data = Path(parcel).read_bytes() if isinstance(parcel, str) else parcel
    return pickle.loads(data)  # noqa: S301


def discard(parcel: Parcel) -> None:
    """Remove the parcel's file, if it has one."""
    if isinstance(parcel, str):
        Path(parcel).unlink(missing_ok=True)


def packed_scenario(scenario: Scenario) -> bytes:
    """Pack a scenario, which is sent to each process once; 600 enclosures take about 30 kB."""
    return zlib.compress(pickle.dumps(scenario, protocol=5), 1)


def opened_scenario(data: bytes) -> Scenario:
    """Unpack a scenario."""
    scenario: Scenario = pickle.loads(zlib.decompress(data))  # noqa: S301
    return scenario
