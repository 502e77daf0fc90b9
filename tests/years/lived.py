"""The whole-year cases lived through by the simulation: all enclosures of a room in one run, hands included.

This is the one place where the cases touch the simulation. Hands do at the hours of the table what they do in any run.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from years import store, weather

from simstore.sim.handwork import put_in, take_out
from simstore.sim.opening import open_site
from simstore.sim.packets import Parcel

NEIGHBOURS_EVERY_MIN = 5 * 60 + 7
"""The neighbours are opened this often in the disturbed run, at ever other minutes of the hour."""


@dataclass(frozen=True)
class Lived:
    """A year of one case: hourly means [%RH], and counts and water as the run's record has them."""

    mean_pct: np.ndarray
    hours_over: int
    gel_water_kg: float


@dataclass(frozen=True)
class Year:
    cases: dict[str, Lived]
    water_error: float


@functools.cache
def year(room: str, *, disturbed: bool = False) -> Year:
    """Live through one room's year; ``disturbed``: the neighbours are opened all the time."""
    site = open_site(store.scenario(room), "idle", 0)
    inside, number = site.inside, {row.enclosure.id: i for i, row in enumerate(site.rows)}
    exchanged_kg, absolute_kg, start_kg = [0.0], [1e-12], inside.water_now_kg()

    def opened(i, every_min):
        while True:
            yield site.env.timeout(every_min)
            site.look([i])
            inside.open(i)

    def exchanged(i, hour, water_pct, left_pct):
        yield site.env.timeout(hour * 60)
        spent = take_out(site, i)
        packet = site.rows[i].packet
        fresh = [
            Parcel(site.rows[i].packet_name, packet.gel_kg, packet.gel_kg * water_pct / 100.0, left_pct / 100.0)
            for _ in spent
        ]
        put_in(site, i, fresh)
        exchanged_kg[0] += sum(p.water_kg for p in fresh) - sum(p.water_kg for p in spent)
        absolute_kg[0] += sum(p.water_kg for p in fresh + spent)

    def torn(i, hour):
        yield site.env.timeout(hour * 60)
        site.look([i])
        inside.set_wall(i, site.walls.failed_rows[i])

    mine = store.cases_in(room)
    for case in mine:
        i = number[case.id]
        if case.opened_every_h:
            site.env.process(opened(i, case.opened_every_h * 60))
        for each in case.exchanges:
            site.env.process(exchanged(i, *each))
        if case.torn_h:
            site.env.process(torn(i, case.torn_h))
    if disturbed:
        for name in store.NEIGHBOURS:
            site.env.process(opened(number[name], NEIGHBOURS_EVERY_MIN))
    site.env.run(until=weather.HOURS * 60)
    inside.advance_to(weather.HOURS)

    flows_kg = inside.through_walls_kg + inside.from_objects_kg + inside.with_openings_kg + exchanged_kg[0]
    error = abs(start_kg + flows_kg - inside.water_now_kg())
    watched = [site.rows[i].enclosure.id for i in inside.watched.tolist()]
    return Year(
        {
            case.id: Lived(
                inside.watched_pct[:, watched.index(case.id)].astype(float),
                int(inside.hours_over[number[case.id]]),
                inside.gel_water_kg(number[case.id]),
            )
            for case in mine
        },
        error / (inside.absolute_kg + absolute_kg[0]),
    )
