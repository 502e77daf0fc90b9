"""Randomness with names: one stream for each (seed, replication, activity, entity).

Two plans that are run with one seed share their luck, since a stream depends on names alone; adding an activity or an
enclosure shifts no other stream.
"""

from __future__ import annotations

import zlib

import numpy as np


def stream(seed: int, replication: int, activity: str, entity: str = "") -> np.random.Generator:
    """Return the generator of one activity of one entity in one replication.

    Parameters
    ----------
    seed : int
        Seed of the run.
    replication : int
        Number of the replication, from 0.
    activity, entity : str
        What happens, and to which thing: ``"leak", "A-017"``.
    """
    key = (replication, zlib.crc32(activity.encode()), zlib.crc32(entity.encode()))
    return np.random.Generator(np.random.PCG64DXSM(np.random.SeedSequence(seed, spawn_key=key)))
