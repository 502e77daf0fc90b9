"""Runs of the stepper beside the stiff solver, for the tests and for the table of outside checks."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from sim import reference_air, stores

from simstore.physics.uptake import Pairs, Room, advance
from simstore.scenario.scenario import Scenario
from simstore.sim.inside import Inside
from simstore.sim.run import open_site

GEL = reference_air.DubininAstakhov(0.38, 3962.2, 1.1)  # Sapienza et al. 2017, Renewable Energy 110:40
FRESH_Q = 0.02
OPENED_AT_H = 82
WEEK_H = 168
SEASONS = {"January": 9, "April": 100, "July": 190, "October": 290}


@dataclass(frozen=True)
class Week:
    """One week of measured weather in the store of all cases; everything is opened and filled afresh in its middle."""

    scenario: Scenario
    station: str
    first_h: int

    def opened(self) -> Inside:
        """Open the store with this week's weather as its room, and with the gel as the register has it."""
        site = open_site(self.scenario, "idle", 0)
        old = site.inside
        span = slice(self.first_h, self.first_h + WEEK_H)
        room = Room.from_hours(old.room.temp_c[span], 100.0 * old.room.activity[span])
        pairs = old.pairs
        pairs.refresh(float(room.temp_c[0]))
        start = np.where(pairs.gel_kg > 0, pairs.gel_activity(float(room.temp_c[0])), room.activity[0])
        pairs.near_kg[:] = pairs.capacity_kg(float(room.content_kg_per_m3[0])) * start
        return Inside(pairs, old.curves, room, old.ceiling_pct)

    def solved(self) -> reference_air.Inside:
        site = open_site(self.scenario, "idle", 0)
        reference_c = float(site.inside.room.temp_c.mean())
        inside = self.opened()
        walls = [reference_air.wall_of(self.scenario.settings, row, reference_c) for row in self.scenario.enclosures]
        weighed = np.array(
            [0.1 if e.gel_water_pct is None else e.gel_water_pct / 100 for e in self.scenario.enclosures]
        )
        start = np.where(
            [w.gel_kg > 0 for w in walls], GEL.activity(weighed, inside.room.temp_c[0]), inside.room.activity[0]
        )
        return reference_air.solve(
            walls,
            GEL,
            inside.room.temp_c,
            100.0 * inside.room.activity,
            activity=start,
            q=weighed,
            fresh_at=(OPENED_AT_H,),
            fresh_q=FRESH_Q,
        )

    def stepped(self, block_h: int) -> tuple[np.ndarray, np.ndarray]:
        """RH at the end of every hour and as a mean of it, fractions of shape (hours, enclosures)."""
        inside = self.opened()
        traces = []
        hour = 0
        while hour < WEEK_H:
            if hour == OPENED_AT_H:
                inside.hour = hour
                fill_afresh(inside)
            stop = OPENED_AT_H if hour < OPENED_AT_H else WEEK_H
            hours = min(block_h - hour % block_h, stop - hour)
            traces.append(advance(inside.pairs, inside.room, hour, hours, every_end=True))
            hour += hours
        return np.concatenate([t.end_activity for t in traces]), np.concatenate([t.mean_activity for t in traces])


def fill_afresh(inside: Inside) -> None:
    """Open every enclosure and give those that have gel as much of it freshly dried."""
    pairs: Pairs = inside.pairs
    for i in range(len(pairs.gel_kg)):
        inside.open(i)
        if pairs.gel_kg[i] > 0:
            inside.put_gel(
                i,
                gel_kg=float(pairs.gel_kg[i]),
                water_kg=FRESH_Q * float(pairs.gel_kg[i]),
                left=1.0,
                conductance_kg_per_s_pa=float(pairs.packet_kg_per_s_pa[i]),
            )
    pairs.refresh(float(inside.room.temp_c[inside.hour]))


@functools.cache
def week(station: str, season: str) -> tuple[Week, reference_air.Inside]:
    """One week and what the solver says of it."""
    found = Week(stores.weather_store(station), station, 24 * SEASONS[season])
    return found, found.solved()


def worst_pct(station: str, season: str, block_h: int) -> tuple[np.ndarray, np.ndarray]:
    """Largest error of each enclosure [%RH]: at the ends of hours, and of their means."""
    span, solved = week(station, season)
    end, mean = span.stepped(block_h)
    return 100 * np.abs(end - solved.end).max(axis=0), 100 * np.abs(mean - solved.mean).max(axis=0)
