"""The store of the screening model: several draws of its leaks and weather as one block of arrays.

Everything comes from the simulation's own opening of the store, so that both see the same walls, gel and first state.
Between two working days the gel takes up water through wall and packet in series, with the room's mean air of these
days, by one linearly implicit step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.scenario import Scenario
from simstore.sim.run import open_site
from simstore.sim.site import Site
from simstore.store.gel import StoreCurves
from simstore.units import HOURS_PER_DAY, SECONDS_PER_DAY

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FluidStore:
    """Draws of one store; arrays of shape (draws, enclosures) unless said otherwise.

    Attributes
    ----------
    site : Site
        The first draw's site, for what is the same in all draws.
    days : int
        Length of the run. [d]
    age_days : ndarray, shape (enclosures,)
        Days since the gel was dried; NaN where it is not known.
    wall_kg_per_s_pa, believed_kg_per_s_pa, packet_kg_per_s_pa : ndarray
        Conductances: true wall, believed wall, packet.
    gel_kg, water_kg : ndarray
        Dry gel, and water on it at the start.
    room_activity, room_psat_pa : ndarray, shape (draws, days)
        Daily means of the room's RH as a fraction and of its saturation pressure.
    temp_c : ndarray, shape (days,)
        Daily mean over the draws.
    """

    site: Site
    days: int
    curves: StoreCurves
    age_days: FloatArray
    wall_kg_per_s_pa: FloatArray
    believed_kg_per_s_pa: FloatArray
    packet_kg_per_s_pa: FloatArray
    gel_kg: FloatArray
    water_kg: FloatArray
    room_activity: FloatArray
    room_psat_pa: FloatArray
    temp_c: FloatArray

    @property
    def draws(self) -> int:
        """Number of draws."""
        return int(self.gel_kg.shape[0])

    def step(self, q: FloatArray, *, first_day: int, last_day: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Advance the water of the gel over the days ``first_day <= day < last_day``.

        Parameters
        ----------
        q : ndarray, shape (draws, enclosures)
            Water on the gel. [kg/kg]

        Returns
        -------
        tuple of ndarray, each of shape (draws, enclosures)
            Water at the end [kg/kg], and RH inside at the start and at the end, as fractions.
        """
        span = slice(first_day, last_day)
        psat = self.room_psat_pa[:, span].mean(axis=1)[:, None]
        outside = self.room_activity[:, span].mean(axis=1)[:, None]
        temp_c = float(self.temp_c[span].mean())
        ln_h, _, per_q = self._terms(q, temp_c)
        over = np.exp(np.minimum(ln_h, 0.0))
        both = self.wall_kg_per_s_pa + self.packet_kg_per_s_pa
        by_wall = self.wall_kg_per_s_pa / both
        series = by_wall * self.packet_kg_per_s_pa
        rate = series * psat * (last_day - first_day) * SECONDS_PER_DAY / np.where(self.gel_kg > 0, self.gel_kg, np.inf)
        gained = rate * (outside - over) / (1.0 + rate * over * per_q)
        end = np.minimum(over * np.exp(np.clip(per_q * gained, -50.0, 50.0)), 1.0)
        packed = self.gel_kg > 0
        at_start = np.where(packed, by_wall * outside + (1.0 - by_wall) * over, outside)
        at_end = np.where(packed, by_wall * outside + (1.0 - by_wall) * end, outside)
        return q + gained, at_start, at_end

    def over_gel(self, q: FloatArray, day: int) -> FloatArray:
        """RH over gel with water ``q`` on one day, as a fraction; shape (draws, enclosures)."""
        return np.exp(np.minimum(self._terms(q, float(self.temp_c[min(day, self.days - 1)]))[0], 0.0))

    def _terms(self, q: FloatArray, temp_c: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        flat = self.curves.log_activity_terms(slice(None), np.ascontiguousarray(q).reshape(-1), temp_c)
        ln_h, per_inverse_k, per_q = (part.reshape(q.shape) for part in flat)
        return ln_h, per_inverse_k, per_q


def fluid_store(scenario: Scenario, base: str, draws: int) -> FluidStore:
    """Open the store ``draws`` times, with the luck of the replications from 0 on.

    Parameters
    ----------
    scenario : Scenario
        With the plan's own changes made.
    base : str
        Name of the plan.
    draws : int
        Draws of leaks and weather.
    """
    opened = [open_site(scenario, base, number) for number in range(draws)]
    sites = [entry[0] for entry in opened]
    site = sites[0]
    rooms = [each.inside.room for each in sites]
    pairs = [each.inside.pairs for each in sites]
    mean_c = float(np.mean([room.temp_c.mean() for room in rooms]))
    count = len(site.rows)
    own = site.curves
    kinds = {name: site.settings.sorbents[name] for name in own.names}
    curves = StoreCurves(kinds, draws * count)
    curves.sorbent[:] = np.tile(own.sorbent, draws)
    gel = np.stack([pair.gel_kg for pair in pairs])
    return FluidStore(
        site=site,
        days=site.days,
        curves=curves,
        age_days=opened[0][2],
        wall_kg_per_s_pa=np.stack([_wall_at(p.wall_temps_c, p.wall_kg_per_s_pa, mean_c) for p in pairs]),
        believed_kg_per_s_pa=np.stack([each.believed_kg_per_s_pa for each in sites]),
        packet_kg_per_s_pa=np.stack([np.where(p.packet_kg_per_s_pa > 0, p.packet_kg_per_s_pa, 1e-300) for p in pairs]),
        gel_kg=gel,
        water_kg=np.stack([pair.water_kg for pair in pairs]),
        room_activity=np.stack([_daily(room.activity) for room in rooms]),
        room_psat_pa=np.stack([_daily(room.psat_pa) for room in rooms]),
        temp_c=np.mean([_daily(room.temp_c) for room in rooms], axis=0),
    )


def _daily(values: FloatArray) -> FloatArray:
    return np.asarray(values.reshape(-1, HOURS_PER_DAY).mean(axis=1))


def _wall_at(temps_c: FloatArray, table: FloatArray, temp_c: float) -> FloatArray:
    """Row of a table over temperatures, at one of them or between two."""
    place = float(np.interp(temp_c, temps_c, np.arange(len(temps_c))))
    low = min(int(place), len(temps_c) - 2)
    return np.asarray(table[low] + (place - low) * (table[low + 1] - table[low]))
