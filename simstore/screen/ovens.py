"""Ovens of the screening model: packets in them, when they may be unloaded, how long they were in use."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.values.settings import Settings
from simstore.units import HOURS_PER_DAY, MINUTES_PER_HOUR

FloatArray = NDArray[np.float64]


class Baker:
    """All ovens of one make."""

    def __init__(self, settings: Settings, name: str, draws: int, sorts: int) -> None:
        oven = settings.ovens[name]
        self.count = oven.count
        packets = list(settings.packets.values())
        bulk = [settings.sorbents[packet.sorbent].bulk_kg_per_m3 for packet in packets]
        self.share = np.array([p.gel_kg / oven.load_kg(b) for p, b in zip(packets, bulk, strict=True)])
        self.least = oven.least_load_pct / 100.0
        cool_h = oven.cool_h if oven.cooling == "in_oven" else 0.0
        self.cycle_days = (oven.warm_up_min / MINUTES_PER_HOUR + oven.cycle_h + cool_h) / HOURS_PER_DAY
        self.full = np.zeros((draws, self.count), dtype=np.bool_)
        self.content = np.zeros((draws, self.count, sorts))
        self.batches = np.ones((draws, self.count), dtype=np.int64)
        self.loaded_day = np.zeros((draws, self.count))
        self.ready_day = np.zeros((draws, self.count))
        self.busy_days = np.zeros(draws)

    def worth(self, spent: FloatArray, *, anything: bool = False) -> bool:
        """Whether enough lies spent for a load; ``anything`` will do where changes wait for packets."""
        if not self.count:
            return False
        covered = min(float(spent @ self.share), 1.0)
        return covered > 0.0 and (anything or covered >= self.least - 1e-9)

    def fill(
        self, r: int, unit: int, spent: FloatArray, day: float, *, batches: int, least_only: bool
    ) -> tuple[float, int]:
        """Take packets off the pile ``spent`` into one oven; give their number and that of the loads.

        ``least_only`` takes no more than makes the load worth starting, as happens in the midst of changes.
        """
        each = self.least if least_only else 1.0
        taken, wanted = 0.0, float(batches) * each
        for s in np.flatnonzero(spent).tolist():
            in_one = math.floor(1.0 / self.share[s] + 1e-9)
            most = math.ceil(wanted / self.share[s] - 1e-9) if least_only else math.floor(wanted * in_one)
            count = max(0.0, min(float(spent[s]), float(most)))
            spent[s] -= count
            self.content[r, unit, s] += count
            taken += count
            wanted -= count * self.share[s]
        used = min(batches, max(1, math.ceil((batches * each - wanted) / each - 1e-9)))
        self.full[r, unit] = True
        self.batches[r, unit] = used
        self.loaded_day[r, unit] = day
        self.ready_day[r, unit] = day + self.cycle_days
        return taken, used

    def empty(self, r: int, unit: int, day: float) -> None:
        """Leave one oven free on ``day``."""
        self.content[r, unit] = 0.0
        self.full[r, unit] = False
        self.busy_days[r] += day - self.loaded_day[r, unit]

    def busy_until(self, day: int) -> FloatArray:
        """Oven days in use up to ``day``, shape (draws,). [d]."""
        return np.asarray(self.busy_days + np.where(self.full, day - self.loaded_day, 0.0).sum(axis=1))
