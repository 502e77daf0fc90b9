"""Drying ovens: loading by hand, heating and cooling by themselves, unloading by hand."""

from __future__ import annotations

import heapq
import math
from collections.abc import Generator
from typing import Literal

import numpy as np
import simpy

from simstore.physics.drying import (
    COOLING_TIME_CONSTANT_H,
    drying_energy_j,
    drying_rate_per_h,
    residual_kg_per_kg,
    water_after_bench_cooling,
    water_after_drying_kg_per_kg,
)
from simstore.scenario.values.sorbents import Sorbent
from simstore.scenario.values.work import Oven
from simstore.sim.packets import Parcel
from simstore.sim.record import Load, Mishap
from simstore.sim.site import Site
from simstore.store.gel import curve
from simstore.store.luck import stream
from simstore.store.windows import Window, holding, oven_outages
from simstore.units import JOULES_PER_KWH, MINUTES_PER_HOUR

UNBLENDED_SPREAD = 0.25


class OvenUnit:
    """One oven.

    A unit is ``idle``, ``in use`` from the moment that somebody begins to load it, and ``waiting`` when it may be
    unloaded. It needs nobody while it heats and cools.
    """

    def __init__(self, site: Site, name: str, unit: str, spec: Oven) -> None:
        self.site = site
        self.sort = name
        self.name = unit
        self.spec = spec
        self.state: Literal["idle", "in use", "waiting"] = "idle"
        self.parcels: list[Parcel] = []
        self.load: Load | None = None
        self._heated_min = 0
        known, self._broken = oven_outages(
            site.settings, spec, name=name, unit=unit, replication=site.replication, days=site.days
        )
        self._outages: list[Window] = sorted(known + self._broken)
        self._luck = stream(site.settings.seed, site.replication, "oven", unit)

    @property
    def free(self) -> bool:
        """Whether it is empty and in order."""
        return self.state == "idle" and holding(self._outages, self.site.now_min) is None

    def breakdowns(self) -> Generator[simpy.Event, object, None]:
        """Write down each breakdown when it comes, and wake people when the oven is in order again."""
        for first, last in self._broken:
            yield self.site.env.timeout(max(first - self.site.now_min, 0))
            mishap = Mishap("oven", self.name, self.sort, self.site.now_min)
            self.site.record.mishaps.append(mishap)
            yield self.site.env.timeout(last - self.site.now_min)
            mishap.mended_min = self.site.now_min
            self.site.tell()

    @property
    def running_min(self) -> int:
        """Minutes from start to heat off."""
        return round(self.spec.warm_up_min + self.spec.cycle_h * MINUTES_PER_HOUR)

    def choose(self) -> tuple[list[Parcel], float]:
        """Spent packets for the next load, longest waiting first, and the share of the trays that they cover."""
        shelves = self.site.stockroom.shelves
        share = 0.0
        chosen = []
        for parcel in heapq.merge(*(shelf.spent for shelf in shelves.values()), key=lambda p: p.since_min):
            more = parcel.gel_kg / self.spec.load_kg(shelves[parcel.sort].sorbent.bulk_kg_per_m3)
            if share + more > 1.0 + 1e-9:
                break
            share += more
            chosen.append(parcel)
        return chosen, share

    def fill(self, technician: str, parcels: list[Parcel]) -> None:
        """Take packets off the shelf for this load; the person is still busy loading."""
        for parcel in parcels:
            shelf = self.site.stockroom.shelves[parcel.sort]
            shelf.spent.remove(parcel)
            shelf.in_oven += 1
        self.parcels = parcels
        self.state = "in use"
        self.load = Load(
            oven=self.name,
            technician=technician,
            loaded_min=self.site.now_min,
            packets=len(parcels),
            gel_kg=sum(p.gel_kg for p in parcels),
            water_in_kg=sum(p.water_kg for p in parcels),
        )
        self.site.record.loads.append(self.load)

    def bake(self) -> Generator[simpy.Event, object, None]:
        """Heat for the cycle, then cool; the oven then waits for somebody to unload it."""
        assert self.load is not None
        self.load.loaded_min = self.site.now_min
        run_min = self._heated_min = self.running_min
        yield self.site.env.timeout(run_min)
        while (outage := self._interruption(self.site.now_min - run_min)) is not None:
            # The heat failed meanwhile: the load is heated again for the full time once the oven is in order.
            failed, ended = outage
            self._heated_min += max(failed - (self.site.now_min - run_min), 0)
            yield self.site.env.timeout(max(ended - self.site.now_min, 0) + run_min)
        self._dry(self.load)
        self.load.hot_min = self.site.now_min
        if self.spec.cooling == "in_oven":
            yield self.site.env.timeout(round(self.spec.cool_h * MINUTES_PER_HOUR))
            self.load.cool_min = self.site.now_min
        self.state = "waiting"
        self.site.tell()

    def _interruption(self, began_min: int) -> Window | None:
        """Outage that fell into the heating that has just ended, or None."""
        return next((each for each in self._outages if each[0] < self.site.now_min and each[1] > began_min), None)

    def _dry(self, load: Load) -> None:
        room_c, room_pa = self.site.room_now()
        books = self.site.stockroom.books
        energy_j = float(
            drying_energy_j(
                gel_kg=0.0,
                water_driven_off_kg=0.0,
                heat_j_per_kg=0.0,
                oven_c=self.spec.set_c,
                room_c=room_c,
                casing_w=self.spec.casing_w,
                duration_s=self._heated_min * 60.0,
            )
        )
        rate = float(drying_rate_per_h(self.spec.set_c, self.spec.bed_depth_mm / 1000.0))
        for sort in dict.fromkeys(p.sort for p in self.parcels):
            mine = [p for p in self.parcels if p.sort == sort]
            shelf = self.site.stockroom.shelves[sort]
            own = curve(shelf.sorbent.isotherm)
            gel_kg = np.array([p.gel_kg for p in mine])
            before = np.array([p.water_kg for p in mine]) / gel_kg
            residual = residual_kg_per_kg(own, self.spec.set_c, room_pa)
            after = water_after_drying_kg_per_kg(
                before, residual=residual, rate_per_h=rate, duration_h=self.spec.cycle_h
            )
            if self.spec.residual_pct is not None:
                after = np.minimum(before, self.spec.residual_pct / 100.0)
            spread = self.spec.uneven_pct / 100.0 + _unblended(shelf.sorbent)
            if spread:
                after = np.minimum(after * np.exp(spread * self._luck.standard_normal(len(mine))), before)
            driven = gel_kg * (before - after)
            heat = own.isosteric_heat_j_per_kg(float(before.mean() + after.mean()) / 2.0, self.spec.set_c)
            energy_j += float(
                drying_energy_j(
                    gel_kg=gel_kg.sum(),
                    water_driven_off_kg=driven.sum(),
                    heat_j_per_kg=heat,
                    oven_c=self.spec.set_c,
                    room_c=room_c,
                    casing_w=0.0,
                    duration_s=0.0,
                    water_left_kg=(gel_kg * after).sum(),
                )
            )
            for parcel, q in zip(mine, after.tolist(), strict=True):
                lost_kg = parcel.water_kg - parcel.gel_kg * q
                parcel.water_kg = parcel.gel_kg * q
                parcel.cycles += 1
                parcel.left *= 1.0 - shelf.sorbent.fade_per_cycle_pct / 100.0
                books.water_driven_off_kg += lost_kg
                books.absolute_kg += abs(lost_kg)
        load.water_out_kg = sum(p.water_kg for p in self.parcels)
        load.energy_kwh = energy_j / JOULES_PER_KWH

    def empty(self) -> list[Parcel]:
        """Hand over the dried packets; they may be prepared at once, or when they have cooled elsewhere."""
        assert self.load is not None
        parcels, self.parcels = self.parcels, []
        now = self.site.now_min
        self.load.unloaded_min = now
        cooled = now
        if self.spec.cooling != "in_oven":
            # Counted from heat off: a load that waited in the shut oven has cooled there meanwhile.
            hot_for_min = now - (self.load.hot_min or 0)
            cooled = now + max(round(self.spec.cool_h * MINUTES_PER_HOUR) - hot_for_min, 0)
            self.load.cool_min = cooled
            if self.spec.cooling == "bench":
                self._regain(parcels, hot_for_min / MINUTES_PER_HOUR, (cooled - now) / MINUTES_PER_HOUR)
        for parcel in parcels:
            shelf = self.site.stockroom.shelves[parcel.sort]
            shelf.in_oven -= 1
            parcel.since_min = cooled
            shelf.lay_dried(parcel)
        self.state = "idle"
        return parcels

    def _regain(self, parcels: list[Parcel], hot_for_h: float, open_h: float) -> None:
        """Let packets take up water on the bench for ``open_h``, after cooling in the shut oven for ``hot_for_h``."""
        if not open_h:
            return
        room_c, room_pa = self.site.room_now()
        out_c = room_c + (self.spec.set_c - room_c) * math.exp(-hot_for_h / COOLING_TIME_CONSTANT_H)
        for parcel in parcels:
            shelf = self.site.stockroom.shelves[parcel.sort]
            q = float(
                water_after_bench_cooling(
                    curve(shelf.sorbent.isotherm),
                    parcel.water_kg / parcel.gel_kg,
                    oven_c=out_c,
                    room_c=room_c,
                    room_vapour_pa=room_pa,
                    bed_depth_m=self.spec.bed_depth_mm / 1000.0,
                    duration_h=open_h,
                    bulk_kg_per_m3=shelf.sorbent.bulk_kg_per_m3,
                )
            )
            self.site.stockroom.books.regain(parcel.gel_kg * q - parcel.water_kg)
            parcel.water_kg = parcel.gel_kg * q


def _unblended(sorbent: Sorbent) -> float:
    """Spread of the residual water that comes from beads and granules lying apart; an assumption of ours.

    Broken granules dry faster than beads; half of each, unmixed, is taken to spread the water by a quarter.
    """
    share = sorbent.granule_pct / 100.0
    return 0.0 if sorbent.blended else UNBLENDED_SPREAD * 4.0 * share * (1.0 - share)
