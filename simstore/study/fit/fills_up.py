"""How likely each leak makes what was measured in one enclosure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.reading.measurements import Measurement
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.sorbents import NarrowPore, Sorbent
from simstore.store.gel import StoreCurves
from simstore.store.housed import Housed, walls_as_leaky_as
from simstore.store.outlook import Outlook

FloatArray = NDArray[np.float64]
GRID: Final = np.linspace(math.log(0.005), math.log(200.0), 265)
"""Logarithm of leak over the kind's median."""
FOLLOWED: Final = GRID[::8]
"""Leaks at which the gel is followed day by day; in between a smooth curve is laid through."""
WEATHER_SHARE: Final = 0.05
"""Error of the water taken up, as a share of it: the weather was not the expected one (an assumption, tested)."""
DRY_SHARE: Final = 0.02
"""Error of a packet's dry mass that was not weighed, as a share of its gel (an assumption)."""
LOGGER_PCT: Final = 2.5
"""Error of a logger inside, %RH, with its bias (common practice, no source)."""
SLIP: Final = 0.01
"""Chance that a measurement belongs to another enclosure or is misread (an assumption)."""
GELS_AT_20_PCT: Final = (11.0, 12.4, 13.5)
"""Narrow-pore gels, weakest to strongest; which of them lies in a packet is not known."""
GRAMS: Final = 1000.0


@dataclass(frozen=True, slots=True)
class Likelihood:
    """What one enclosure's measurements say.

    Attributes
    ----------
    log : ndarray, shape (points of GRID,)
    slip : float
        Chance that a measurement is not of this enclosure, at the likeliest leak.
    predicted : ndarray, shape (measurements, points of GRID)
        Mass [g], or RH [%] where that was read.
    bounded : bool
        Whether it tells how leaky the enclosure is at most; the gel of one that is full does not.
    """

    log: FloatArray
    slip: float
    predicted: FloatArray
    bounded: bool


class Filling:
    """Predicts measurements of a store for every leak on the grid.

    Parameters
    ----------
    scenario : Scenario
        Under the plan as whose the enclosures are housed.
    rows : sequence of Housed
        Enclosures that were measured.
    scale_g : float
        Standard error of one weighing. [g]
    """

    def __init__(self, scenario: Scenario, rows: Sequence[Housed], *, scale_g: float) -> None:
        self._scenario, self._scale_g = scenario, scale_g
        names = {row.packet.sorbent for row in rows if row.packet is not None}
        self._outlooks = [
            Outlook(scenario, StoreCurves(gels, len(rows)), days=1)
            for gels in _as_they_may_be({name: scenario.settings.sorbents[name] for name in sorted(names)})
        ]

    def likelihood(self, row: Housed, measurements: Sequence[Measurement]) -> Likelihood:
        """Weigh every leak of one enclosure by what was measured there; the packets are its own."""
        assert row.packet is not None
        assert row.packet_name is not None
        walls = walls_as_leaky_as(self._scenario.settings, row, np.exp(FOLLOWED))
        gel_g = row.packets * row.packet.gel_kg * GRAMS
        each = []
        for outlook in self._outlooks:
            predicted = self._predicted(outlook, row, walls, measurements, gel_g)
            parts = [self._log_density(one, predicted[n], gel_g) for n, one in enumerate(measurements)]
            each.append((predicted, np.sum(parts, axis=0), parts))
        log = np.logaddexp.reduce([total for _, total, _ in each], axis=0) - math.log(len(each))
        best = int(np.argmax(log))
        predicted, _, parts = each[len(each) // 2]
        spoilt = [
            SLIP * _flat(one, gel_g) / math.exp(part[best]) for one, part in zip(measurements, parts, strict=True)
        ]
        top = float(log.max())
        return Likelihood(log, min(max(spoilt), 1.0), predicted, bounded=bool(log[-1] < top - 2.0))

    def _predicted(
        self, outlook: Outlook, row: Housed, walls: FloatArray, measurements: Sequence[Measurement], gel_g: float
    ) -> FloatArray:
        """Mass or RH for each measurement at each leak, shape (measurements, points of GRID)."""
        from scipy.interpolate import PchipInterpolator

        start, settings = self._scenario.settings.start, self._scenario.settings
        assert row.packet is not None
        dry_q = settings.sorbents[row.packet.sorbent].supplied_water_pct / 100.0
        gel_kg = gel_g / GRAMS
        fills: dict[date, list[int]] = {}
        for n, one in enumerate(measurements):
            fills.setdefault(one.put_in, []).append(n)
        found = np.empty((len(measurements), len(FOLLOWED)))
        for put_in, members in fills.items():
            members.sort(key=lambda n: measurements[n].measured)
            days = [(put_in - start).days, *((measurements[n].measured - start).days for n in members)]
            for point, wall in enumerate(walls):
                states = outlook.fills_up(row, wall, gel_kg=gel_kg, water_kg=dry_q * gel_kg, days=days)[1:]
                for n, (water_kg, activity) in zip(members, states, strict=True):
                    gained_g = (water_kg - dry_q * gel_kg) * GRAMS
                    one = measurements[n]
                    dry_g = gel_g * (1.0 + dry_q) if one.dry_g is None else one.dry_g
                    found[n, point] = activity * 100.0 if one.wet_g is None else dry_g + gained_g
        smooth: FloatArray = PchipInterpolator(FOLLOWED, found, axis=1)(GRID)
        return smooth

    def _log_density(self, one: Measurement, predicted: FloatArray, gel_g: float) -> FloatArray:
        """Logarithm of the density of one measurement at each leak, with the chance of a slip."""
        if one.wet_g is None:
            assert one.read_rh_pct is not None
            away, error = one.read_rh_pct - predicted, np.full(len(predicted), LOGGER_PCT)
        else:
            dry_g = gel_g if one.dry_g is None else one.dry_g
            unknown_g = DRY_SHARE * gel_g if one.dry_g is None else self._scale_g
            away = one.wet_g - predicted
            error = np.sqrt(self._scale_g**2 + unknown_g**2 + (WEATHER_SHARE * (predicted - dry_g)) ** 2)
        density = np.exp(-0.5 * (away / error) ** 2) / (error * math.sqrt(2.0 * math.pi))
        logged: FloatArray = np.log((1.0 - SLIP) * density + SLIP * _flat(one, gel_g))
        return logged


def _flat(one: Measurement, gel_g: float) -> float:
    """Density of a measurement that may be anything: an RH, or a packet between dry and full. [1/%, 1/g]."""
    return 0.01 if one.wet_g is None else 1.0 / (0.4 * gel_g)


def _as_they_may_be(gels: Mapping[str, Sorbent]) -> list[dict[str, Sorbent]]:
    """Give the gels as the weakest, middle and strongest that they may be, where that is not known."""
    if not any(isinstance(gel.isotherm, NarrowPore) for gel in gels.values()):
        return [dict(gels)]
    return [
        {
            name: gel.model_copy(update={"isotherm": gel.isotherm.model_copy(update={"water_at_20_rh_pct": pct})})
            if isinstance(gel.isotherm, NarrowPore)
            else gel
            for name, gel in gels.items()
        }
        for pct in GELS_AT_20_PCT
    ]
