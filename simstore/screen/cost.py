"""What the screening model's year costs, by the same rules as a simulated one."""

from __future__ import annotations

from collections import Counter

import numpy as np

from simstore.money.costs import cost_lines, total
from simstore.money.tally import Tally
from simstore.physics.drying import (
    drying_energy_j,
    drying_rate_per_h,
    residual_kg_per_kg,
    water_after_drying_kg_per_kg,
)
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet
from simstore.scenario.values.work import Oven
from simstore.screen.calendar import Calendar
from simstore.screen.draws import FluidStore
from simstore.screen.flow import Flow
from simstore.store.gel import curve
from simstore.store.housed import packets_in
from simstore.units import JOULES_PER_KWH, MINUTES_PER_HOUR

SPENT_KG_PER_KG = 0.12
"""Water on a spent packet before drying, where nothing better is known."""


def fresh_water(store: FluidStore, settings: Settings) -> float:
    """Water that is left on a packet after the first oven's drying, or as supplied where there is no oven. [kg/kg]."""
    packet = next((row.packet for row in store.site.rows if row.packet is not None), None)
    if packet is None:
        return 0.0
    sorbent = settings.sorbents[packet.sorbent]
    oven = next((each for each in settings.ovens.values() if each.count), None)
    if oven is None:
        return sorbent.supplied_water_pct / 100.0
    return _after(store, settings, packet.sorbent, oven, SPENT_KG_PER_KG)


def _after(store: FluidStore, settings: Settings, sorbent: str, oven: Oven, before: float) -> float:
    own = curve(settings.sorbents[sorbent].isotherm)
    room_pa = float((store.room_activity * store.room_psat_pa).mean())
    return float(
        water_after_drying_kg_per_kg(
            np.array([before]),
            residual=residual_kg_per_kg(own, oven.set_c, room_pa),
            rate_per_h=float(drying_rate_per_h(oven.set_c, oven.bed_depth_mm / 1000.0)),
            duration_h=oven.cycle_h,
        )[0]
    )


def screened_cost(
    scenario: Scenario, base: str, store: FluidStore, calendar: Calendar, flow: Flow, fresh_q: float
) -> float:
    """Annual-equivalent cost of a flow, mean over its draws, in the scenario's currency a year.

    Parameters
    ----------
    scenario : Scenario
        With the plan's changes made.
    base : str
        Name of the plan.
    """
    settings = scenario.settings
    minutes = float(flow.worked_min.mean())
    changed = dict(zip(settings.packets, flow.packets.mean(axis=0).tolist(), strict=True))
    rows = store.site.rows
    tally = Tally(
        settings=settings,
        plan=settings.plans[base],
        days=store.days,
        worked_min={name: share * minutes for name, share in calendar.shares.items()},
        orders=flow.orders,
        changed=changed,
        energy_kwh=_energy_kwh(settings, store, flow, fresh_q),
        repairs={},
        failed={},
        lost_kg={name: count * _lost_kg(settings, settings.packets[name]) for name, count in changed.items()},
        enclosures=Counter(row.kind_name for row in rows),
        placed=packets_in(rows),
    )
    return total(cost_lines(tally), "running", "capital")


def _lost_kg(settings: Settings, packet: Packet) -> float:
    """Dust and spillage of one packet in one exchange and drying. [kg]."""
    return packet.gel_kg * settings.sorbents[packet.sorbent].loss_per_cycle_pct / 100.0


def _energy_kwh(settings: Settings, store: FluidStore, flow: Flow, fresh_q: float) -> float:
    loads, loaded = float(flow.loads.mean()), float(flow.loaded.mean())
    oven = next((each for each in settings.ovens.values() if each.count), None)
    if oven is None or not loads:
        return 0.0
    packet = next(iter(settings.packets.values()))
    own = curve(settings.sorbents[packet.sorbent].isotherm)
    changed = float(flow.packets.mean(axis=0).sum())
    gel_kg = loaded * packet.gel_kg
    before = float(flow.water_out_kg.mean()) / (changed * packet.gel_kg) if changed else SPENT_KG_PER_KG
    driven = max(before - fresh_q, 0.0)
    joules = drying_energy_j(
        gel_kg=gel_kg,
        water_driven_off_kg=gel_kg * driven,
        heat_j_per_kg=own.isosteric_heat_j_per_kg((before + fresh_q) / 2.0, oven.set_c),
        oven_c=oven.set_c,
        room_c=float(store.temp_c.mean()),
        casing_w=oven.casing_w,
        duration_s=loads * (oven.warm_up_min + oven.cycle_h * MINUTES_PER_HOUR) * 60.0,
        water_left_kg=gel_kg * fresh_q,
    )
    return float(joules) / JOULES_PER_KWH
