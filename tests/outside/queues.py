"""Our values for the rows about queues: the simulator's own technicians and ovens at textbook queues.

A queue at 75 % load forgets slowly. So the simulator serves a few thousand customers, and the textbook's recursion
(Lindley's, or Kiefer and Wolfowitz's) serves the same ones and then a great many more: it is the control variate. What
the simulator's customers wait longer or shorter than those of the recursion goes into the row in full.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from sim import queue_site, queue_theory
from sim.queue_site import UNIT

SIMULATED = 3000
LONG = 1_000_000
MENDED = 1500
LONG_MENDED = 300_000


@dataclass(frozen=True)
class Open:
    """A queue with Poisson arrivals: servers, arrival rate, mean service and its standard deviation."""

    servers: int
    rate: float
    mean: float
    sd: float
    count: int = LONG


QUEUES = {
    "m_m_1": Open(1, 0.75, 1.0, 1.0, 5 * LONG),
    "m_m_2": Open(2, 0.75, 1.0, 1.0),
    "m_m_3": Open(3, 1.2, 2.0, 2.0, 3 * LONG),
    "m_d_1": Open(1, 0.75, 1.0, 0.0, 4 * LONG),
    "m_g_1": Open(1, 0.35, 2.0, 1.2, 4 * LONG),
}


@functools.cache
def customers(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Gaps and services of all customers [min], and the wait that the recursion gives each."""
    queue, rng = QUEUES[name], np.random.default_rng(11)
    gaps = rng.exponential(1.0 / queue.rate, queue.count)
    shape = np.inf if queue.sd == 0.0 else (queue.mean / queue.sd) ** 2
    services = (
        np.full(queue.count, queue.mean) if queue.sd == 0.0 else rng.gamma(shape, queue.mean / shape, queue.count)
    )
    gaps, services = (np.rint(each * UNIT).astype(np.int64) for each in (gaps, services))
    return gaps, services, queue_theory.waits(gaps, services, queue.servers)


def exchanges(name: str, *wanted: str) -> list[float]:
    """Mean wait and its kin, of exchanges that wait for technicians."""
    gaps, services, known = customers(name)
    few = slice(SIMULATED)
    ours = queue_site.waits_of_exchanges(gaps[few], services[few], QUEUES[name].servers)
    wait = (known.mean() + (ours - known[few]).mean()) / UNIT
    waits = np.mean(known > 0) + np.mean((ours > 0).astype(float) - (known[few] > 0))
    rate = len(gaps) / (gaps.sum() / UNIT)
    service = services.mean() / UNIT
    found = {"Wq": wait, "W": wait + service, "Lq": rate * wait, "L": rate * (wait + service), "C": waits}
    return [float(found[each]) for each in wanted]


@functools.cache
def machines(men: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Runs and mends of six machines [min], and when each stops, is begun with and runs again by the recursion."""
    rng = np.random.default_rng(23)
    runs, mends = (
        np.rint(rng.exponential(mean, shape) * UNIT).astype(np.int64)
        for mean, shape in ((20.0, (6, LONG_MENDED // 5)), (2.0, LONG_MENDED + 10))
    )
    return runs, mends, queue_theory.stops(runs, mends, men, LONG_MENDED)


def ovens(men: int, *wanted: str) -> list[float]:
    """Waits of ovens for somebody to see to them, and how many are down."""
    runs, mends, known = machines(men)
    ours = queue_site.stops_of_machines(runs, mends, men, MENDED)
    parts = [shares(known), shares(ours), shares(known[: len(ours)])]
    found = {name: parts[0][name] + parts[1][name] - parts[2][name] for name in parts[0]}
    return [found[each] for each in wanted]


def shares(stops: np.ndarray) -> dict[str, float]:
    """Averages over time and over stops; ``stops`` holds when each stopped, was begun with and ran again."""
    total = float(stops[-1, 0])
    waited = stops[:, 1] - stops[:, 0]
    marks = np.concatenate([stops[:, 0], stops[:, 2]])
    order = np.argsort(marks, kind="stable")
    down = np.cumsum(np.repeat([1, -1], len(stops))[order])[:-1] > 0
    spans = np.diff(marks[order])
    return {
        "P0": 1.0 - float(spans[down].sum() / marks.max()),
        "L": float((stops[:, 2] - stops[:, 0]).sum() / total),
        "Lq": float(waited.sum() / total),
        "Wq": float(waited.mean() / UNIT),
        "met busy": float((waited > 0).mean()),
    }


COMPUTES = {
    "queue.m_m_1": lambda: exchanges("m_m_1", "Lq", "Wq", "L", "W"),
    "queue.m_m_2": lambda: exchanges("m_m_2", "Lq", "Wq", "L"),
    "queue.m_m_3": lambda: exchanges("m_m_3", "Wq", "W", "Lq", "L", "C"),
    "queue.m_d_1": lambda: exchanges("m_d_1", "Lq"),
    "queue.m_g_1": lambda: exchanges("m_g_1", "Lq", "Wq"),
    "queue.repair.one": lambda: ovens(1, "P0", "Lq", "L", "Wq"),
    "queue.repair.two": lambda: ovens(2, "P0", "Wq"),
    "queue.repair.met_busy": lambda: [*ovens(1, "met busy"), *ovens(2, "met busy")],
}
