"""Textbook formulas of queues and stocks, and the recursions that give each customer's wait."""

from __future__ import annotations

import heapq
import math
from statistics import NormalDist

import numpy as np


def erlang_c(servers: int, load: float) -> float:
    """Chance that an arrival waits, M/M/c; ``load`` is arrival rate over service rate."""
    top = load**servers / math.factorial(servers) * servers / (servers - load)
    return top / (sum(load**n / math.factorial(n) for n in range(servers)) + top)


def m_m_c(servers: int, arrivals: float, services: float) -> dict[str, float]:
    """Steady state of M/M/c."""
    load = arrivals / services
    waits = erlang_c(servers, load)
    in_queue = waits * load / (servers - load)
    below = sum(load**n / math.factorial(n) for n in range(servers))
    p0 = 1.0 / (below + load**servers / math.factorial(servers) * servers / (servers - load))
    wait = in_queue / arrivals
    return {"P0": p0, "C": waits, "Lq": in_queue, "Wq": wait, "L": in_queue + load, "W": wait + 1.0 / services}


def m_g_1(arrivals: float, mean: float, sd: float) -> dict[str, float]:
    """Pollaczek and Khinchine."""
    load = arrivals * mean
    in_queue = arrivals**2 * (sd**2 + mean**2) / (2.0 * (1.0 - load))
    return {"Lq": in_queue, "Wq": in_queue / arrivals}


def repair(machines: int, run: float, mend: float, men: int) -> dict[str, float]:
    """Machine repair with exponential times; averages over time, and what a machine that stops meets."""

    def shares(population: int) -> list[float]:
        weights = [1.0]
        for n in range(population):
            weights.append(weights[-1] * (population - n) / run * mend / min(n + 1, men))
        return [weight / sum(weights) for weight in weights]

    p = shares(machines)
    in_queue = sum((n - men) * p[n] for n in range(men, machines + 1))
    down = sum(n * p[n] for n in range(machines + 1))
    stops = (machines - down) / run
    return {
        "P0": p[0],
        "Lq": in_queue,
        "L": down,
        "Wq": in_queue / stops,
        "busy": sum(p[men:]),
        "met busy": sum(shares(machines - 1)[men:]),
    }


def waits(gaps: np.ndarray, services: np.ndarray, servers: int) -> np.ndarray:
    """Wait of each customer, first come first served: Lindley's recursion, or Kiefer and Wolfowitz's."""
    if servers == 1:
        steps = np.concatenate(([0], services[:-1] - gaps[1:]))
        walk = np.cumsum(steps)
        return walk - np.minimum.accumulate(walk)
    free = [0] * servers
    found = []
    now = 0
    for gap, service in zip(gaps.tolist(), services.tolist(), strict=True):
        now += gap
        start = max(now, free[0])
        heapq.heapreplace(free, start + service)
        found.append(start - now)
    return np.array(found)


def stops(runs: np.ndarray, mends: np.ndarray, men: int, count: int) -> np.ndarray:
    """When machines stop, are begun with and run again, shape (count, 3); of those that wait the first in the list."""
    later = [(int(own[0]), True, machine) for machine, own in enumerate(runs)]
    heapq.heapify(later)
    runs_left = [iter(own[1:].tolist()) for own in runs]
    mends_left = iter(mends.tolist())
    stopped: dict[int, int] = {}
    found = []
    idle = men
    while len(found) < count:
        now, stops_now, machine = heapq.heappop(later)
        if stops_now:
            stopped[machine] = now
        else:
            idle += 1
            heapq.heappush(later, (now + next(runs_left[machine]), True, machine))
        while idle and stopped:
            chosen = min(stopped)
            idle -= 1
            ready = now + next(mends_left)
            found.append((stopped.pop(chosen), now, ready))
            heapq.heappush(later, (ready, False, chosen))
    return np.array(found)


STUDENT = {10: 2.262, 20: 2.093}
"""97.5 % point of Student's t, by batches; one degree of freedom fewer."""


def batch_interval(values: np.ndarray, batches: int = 20) -> tuple[float, float]:
    """Mean and half width of its 95 % interval by batch means."""
    size = len(values) // batches
    means = values[: size * batches].reshape(batches, size).mean(axis=1)
    return float(means.mean()), STUDENT[batches] * float(means.std(ddof=1)) / math.sqrt(batches)


def order_quantity(demand: float, order: float, holding: float) -> float:
    """Economic order quantity."""
    return math.sqrt(2.0 * demand * order / holding)


def safety(sd: float, lead: float, service: float) -> float:
    """Safety stock for normal demand in the lead time."""
    return NormalDist().inv_cdf(service) * sd * math.sqrt(lead)
