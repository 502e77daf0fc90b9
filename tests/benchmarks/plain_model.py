"""A plain SimPy model of the same enclosures: one process each, one step an hour, everything in Python floats.

It solves the same pair of stores (air with packing, gel) by the exact step of the linear pair, counts hours over the
ceiling, and changes packets by the calendar. It is the yardstick for the speed of `simstore.sim.run.simulate`::

    python tests/benchmarks/plain_model.py --enclosures 60
"""

from __future__ import annotations

import argparse
import math
import statistics
import time
from collections.abc import Generator
from pathlib import Path

import simpy

from simstore.scenario.reading.load import load_scenario
from simstore.scenario.scenario import Scenario
from simstore.sim.run import open_site, simulate
from simstore.store.housed import packing_kg
from simstore.store.passages import one_packet

HOUR_S = 3600.0
GEL = (0.38, 3962.2, 1.1)
"""Dubinin and Astakhov's capacity [kg/kg], energy [J/mol] and exponent of one narrow-pore gel; only the time counts."""


class PlainStore:
    """Counts of the plain model."""

    def __init__(self) -> None:
        self.hours_over = 0
        self.excess_pct_h = 0.0


def enclosure_process(
    env: simpy.Environment,
    store: PlainStore,
    *,
    hours: int,
    psat_pa: list[float],
    content: list[float],
    activity: list[float],
    inverse_k: list[float],
    wall: float,
    packet: float,
    air_m3: float,
    packing_kg: float,
    gel_kg: float,
    near_kg: float,
    water_kg: float,
    ceiling: float,
    exchange_h: int,
    energy_over_r: float,
    capacity: float,
    exponent: float,
) -> Generator[simpy.Event, object, None]:
    """Step one enclosure through the year, hour by hour."""
    for k in range(hours):
        q = max(water_kg / gel_kg, 1e-6)
        empty = math.log(capacity / q)
        potential = energy_over_r * empty ** (1.0 / exponent)
        h = math.exp(-potential * inverse_k[k])
        slope = h * potential * inverse_k[k] / (exponent * empty * q) / gel_kg
        room = activity[k]
        store_kg = packing_kg + air_m3 * content[k]
        gw, gp = wall * psat_pa[k], packet * psat_pa[k]
        a, b, c = (gw + gp) / store_kg, gp * slope, gp / store_kg
        gap = math.sqrt((0.5 * (a - b)) ** 2 + b * c)
        fast = 0.5 * (a + b) + gap
        gap *= 2.0
        slow = b * gw / store_kg / fast
        fast_end, slow_end = math.exp(-fast * HOUR_S), math.exp(-slow * HOUR_S)
        fast_mean = (1.0 - fast_end) / fast
        slow_mean = -math.expm1(-slow * HOUR_S) / slow
        alpha, beta = (slow_end - fast_end) / gap, (slow_mean - fast_mean) / gap
        d, e = near_kg / store_kg - room, h - room
        end = (slow_end + (slow - a) * alpha) * d + alpha * c * e + room
        mean = (slow_mean + (slow - a) * beta) * d + beta * c * e
        inflow = -gw * mean
        water_kg += inflow - (store_kg * end - near_kg)
        near_kg = store_kg * end
        over = mean / HOUR_S + room - ceiling
        if over > 0.0:
            store.hours_over += 1
            store.excess_pct_h += 100.0 * over
        if (k + 1) % exchange_h == 0:
            water_kg = 0.02 * gel_kg
        yield env.timeout(60)


def plain_year(scenario: Scenario, plan: str, enclosures: int) -> PlainStore:
    """Run the plain model with the leaks, weather and start of replication 0."""
    scenario = scenario.under(plan)
    site = open_site(scenario, plan, 0)
    inside, room, rows = site.inside, site.inside.room, site.rows
    mean_c = float(room.temp_c.mean())
    env = simpy.Environment()
    store = PlainStore()
    air = {
        "psat_pa": room.psat_pa.tolist(),
        "content": room.content_kg_per_m3.tolist(),
        "activity": room.activity.tolist(),
        "inverse_k": room.inverse_k.tolist(),
    }
    for i, row in enumerate(rows[:enclosures]):
        env.process(
            enclosure_process(
                env,
                store,
                hours=len(room.temp_c),
                **air,
                wall=float(site.walls.reference_kg_per_s_pa[i]),
                packet=float(one_packet(scenario.settings, row.packet, mean_c)) * row.packets,
                air_m3=row.empty_m3,
                packing_kg=packing_kg(row),
                gel_kg=row.packet.gel_kg * row.packets,
                near_kg=inside.rh_pct(i) / 100.0 * (packing_kg(row) + row.empty_m3 * float(room.content_kg_per_m3[0])),
                water_kg=inside.gel_water_kg(i),
                ceiling=float(site.inside.ceiling_pct[i]) / 100.0,
                exchange_h=12 * 7 * 24,
                energy_over_r=GEL[1] / 8.314462618,
                capacity=GEL[0],
                exponent=GEL[2],
            )
        )
    env.run()
    return store


def main() -> None:
    """Time both models in one process, in turn, and print the ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenario", type=Path, default=Path("scenarios/river_depot"))
    parser.add_argument("--plan", default="calendar")
    parser.add_argument("--enclosures", type=int, default=0, help="of the plain model; 0 for all")
    parser.add_argument("--pairs", type=int, default=5)
    options = parser.parse_args()
    scenario = load_scenario(options.scenario)
    total = len(scenario.enclosures)
    count = options.enclosures or total
    simulate(scenario, options.plan, 0)
    ratios, plain_s, ours_s = [], [], []
    for n in range(options.pairs):
        began = time.process_time()
        plain_year(scenario, options.plan, count)
        middle = time.process_time()
        simulate(scenario, options.plan, n)
        ended = time.process_time()
        plain_s.append((middle - began) * total / count)
        ours_s.append(ended - middle)
        ratios.append(plain_s[-1] / ours_s[-1])
    print(f"plain {statistics.median(plain_s):.2f} s, simstore {statistics.median(ours_s):.3f} s CPU for one year")
    print(f"ratio: median {statistics.median(ratios):.0f}, least {min(ratios):.0f}, most {max(ratios):.0f}")


if __name__ == "__main__":
    main()
