"""What every kind of work has: how it comes up, the job that it offers, and what of it is left undone."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import simpy

from simstore.sim.packets import Parcel
from simstore.sim.record import Undone
from simstore.sim.site import Site

if TYPE_CHECKING:
    from simstore.sim.staff import Worker

Work = Generator[simpy.Event, object, None]


@dataclass(slots=True)
class Job:
    """Something that fits into what is left of a session: whole minutes, and what is done in them."""

    minutes: int
    work: Work


class WorkSource:
    """One kind of work in one run; each part does nothing unless a class says otherwise.

    Attributes
    ----------
    task : str
        Name of the work in the results; empty if nobody does it.
    handling : bool
        Whether gel is handled: with gloves and mask, and within the limit for a day.
    """

    task: ClassVar[str] = ""
    handling: ClassVar[bool] = False

    def __init__(self, site: Site) -> None:
        self.site = site

    def processes(self) -> Iterator[Work]:
        """Start what goes on by itself, without hands."""
        return iter(())

    def jobs(self, worker: Worker) -> Iterator[Job]:
        """Offer what ``worker`` could do now, most urgent first; only the first is ever asked for."""
        del worker
        return iter(())

    def wakes_min(self) -> Iterable[int]:
        """Minutes, still to come, at which there will be something to do without anybody saying so."""
        return ()

    def undone(self) -> Iterator[Undone]:
        """List what waits when the run ends."""
        return iter(())

    def holds(self) -> Iterator[Parcel]:
        """Packets that lie neither in an enclosure nor on a shelf, but with this work."""
        return iter(())
