"""Plan dry storage for excavated metals by simulation: gel, exchanges, oven and staff hours.

Everything below is loaded when it is first used, so that ``import simstore`` is quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simstore.errors import SimstoreError
    from simstore.lab.replicate import replicate
    from simstore.questions.store import Store, load
    from simstore.results.metrics import metrics_of
    from simstore.results.tables import tables
    from simstore.scenario.reading.load import load_scenario
    from simstore.scenario.scenario import Scenario
    from simstore.sim.run import simulate

__version__ = "0.1.0"

_PLACES = {
    "Scenario": "simstore.scenario.scenario",
    "SimstoreError": "simstore.errors",
    "Store": "simstore.questions.store",
    "load": "simstore.questions.store",
    "load_scenario": "simstore.scenario.reading.load",
    "metrics_of": "simstore.results.metrics",
    "replicate": "simstore.lab.replicate",
    "simulate": "simstore.sim.run",
    "tables": "simstore.results.tables",
}

__all__ = [
    "Scenario",
    "SimstoreError",
    "Store",
    "load",
    "load_scenario",
    "metrics_of",
    "replicate",
    "simulate",
    "tables",
]


def __getattr__(name: str) -> object:
    """Load a public name when it is first asked for."""
    if name not in _PLACES:
        msg = f"module 'simstore' has no attribute {name!r}"
        raise AttributeError(msg)
    value = getattr(import_module(_PLACES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
