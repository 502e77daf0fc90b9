"""The order of work: what is done first when several things could be."""

from __future__ import annotations

from typing import Final

from simstore.sim.arrivals import Arrivals
from simstore.sim.clerk import Clerk
from simstore.sim.exchanging import Exchanging
from simstore.sim.inspecting import Inspecting
from simstore.sim.oven_loads import Loading, Unloading
from simstore.sim.preparing import Preparing, PreparingForExchanges
from simstore.sim.receiving import Receiving
from simstore.sim.rehousing import Moving
from simstore.sim.replacing import Replacing
from simstore.sim.site import Site
from simstore.sim.stock_taking import StockTaking
from simstore.sim.visits import Visits
from simstore.sim.work_source import WorkSource

SOURCES: Final[tuple[type[WorkSource], ...]] = (
    StockTaking,
    Unloading,
    Loading,
    Receiving,
    Visits,
    Replacing,
    Exchanging,
    PreparingForExchanges,
    Inspecting,
    Preparing,
    Moving,
    Arrivals,
    Clerk,
)
"""Everything that makes work or goes on by itself, most urgent first; processes start in this order too."""


def line_up(site: Site) -> list[WorkSource]:
    """Set up every source of work in ``site``; return them, most urgent first."""
    sources = [kind(site) for kind in SOURCES]
    site.sources.update({type(source): source for source in sources})
    return sources
