"""The tally of a simulated run: what it took, for `simstore.money` to price."""

from __future__ import annotations

from collections import Counter

from simstore.money.tally import Tally
from simstore.sim.record import IDLE, RunRecord


def tally_of(record: RunRecord) -> Tally:
    """Add up what a run took."""
    worked_min: Counter[str] = Counter()
    for row in record.staff:
        if row.task != IDLE:
            worked_min[row.technician] += row.minutes
    changed: Counter[str] = Counter()
    for exchange in record.exchanges:
        changed[exchange.packet] += exchange.packets
    settings = record.scenario.settings
    return Tally(
        settings=settings,
        plan=settings.plans[record.plan],
        days=record.days,
        worked_min=worked_min,
        orders=[(order.packet, order.packets) for order in record.orders],
        changed=changed,
        energy_kwh=sum(load.energy_kwh for load in record.loads),
        repairs=Counter(mishap.sort for mishap in record.mishaps if mishap.what == "oven"),
        failed=Counter(mishap.sort for mishap in record.mishaps if mishap.what == "enclosure"),
        lost_kg={row.packet: row.lost_kg for row in sorted(record.stock, key=lambda row: row.day)},
        enclosures=Counter(record.enclosures.kind),
        placed=record.packets_placed,
    )
