"""The two books that must close after every replication: dry gel and water."""

from __future__ import annotations

from typing import Final

from simstore.errors import SimstoreError
from simstore.sim.record import RunRecord

TOLERANCE: Final = 1e-9
"""Largest relative error of a book; rounding leaves about 1e-14."""


def check_balance(record: RunRecord) -> None:
    """Refuse a replication whose books do not close.

    Raises
    ------
    SimstoreError
        If gel or water is out by more than 1e-9 of the flows, or not a number. This is a fault of the program.
    """
    errors = {"dry gel": record.ledger.gel_error, "water": record.ledger.water_error}
    bad = [f"{what} is out by {error:.3g}" for what, error in errors.items() if not abs(error) <= TOLERANCE]
    if bad:
        msg = (
            f"plan '{record.plan}', replication {record.replication}: the books do not close: {', '.join(bad)} of the "
            f"flows (allowed {TOLERANCE:g}). This is a fault in simstore, not in your data; please report it with the "
            "scenario and the seed"
        )
        raise SimstoreError(msg)
