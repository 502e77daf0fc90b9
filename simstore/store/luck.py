"""Randomness with names: one stream for each (seed, replication, activity, entity).

Two plans that are run with one seed share their luck, since a stream depends on names alone; adding an activity or an
enclosure shifts no other stream. The generator is counter-based: seed, replication and activity make its key, the
entity's name the upper half of its counter, so that no two streams can meet.

References
----------
J. K. Salmon et al., "Parallel random numbers: as easy as 1, 2, 3", Proc. SC11 (2011), for the Philox generator.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray


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
    counter = np.zeros(4, dtype=np.uint64)
    counter[2:] = _words(entity)
    return np.random.Generator(np.random.Philox(key=_key(seed, replication, activity), counter=counter))


@lru_cache(maxsize=512)
def _key(seed: int, replication: int, activity: str) -> NDArray[np.uint64]:
    return _words(f"{seed} {replication} {activity}")


def _words(text: str) -> NDArray[np.uint64]:
    """Two words of 64 bits from a name, the same on every machine."""
    digest = hashlib.blake2b(text.encode(), digest_size=16).digest()
    return np.frombuffer(digest, dtype="<u8").astype(np.uint64)
