"""Three boxes for three weeks: the events of the run in the order of the clock."""

from __future__ import annotations

from datetime import date

from pytest import MonkeyPatch  # noqa: PT013
from sim import stores

from simstore.scenario.scenario import Scenario
from simstore.scenario.values.housing import Enclosure
from simstore.sim.packets import Stockroom
from simstore.sim.receiving import Receiving
from simstore.sim.record import RunRecord
from simstore.sim.run import simulate

DAYS = 22
TEXT = """
[climate]
temp_noise_c = 0.0
rh_noise_pct = 0.0

[metals.copper]
label = "copper"
ceiling_rh_pct = 38.0

[technicians.anna]
sessions = ["Mon 09:00-11:00", "Thu 09:00-10:00"]

[ovens.small]
trays = 1
tray_area_m2 = 0.05
bed_depth_mm = 20
warm_up_min = 45.0
cycle_h = 7
cooling = "in_oven"
cool_h = 6
least_load_pct = 60.0

[tasks]
gear_min = 5
exchange_min = 6
load_min = 20
unload_min = 15
prepare_min = 2
receive_min = 10

[stock.small]
ready = 2
spent = 0
reorder_point = 2
order_quantity = 2
lead_days = 4.5

[plans.weekly]
label = "iron every week, copper every three"
rule = "calendar"
cadence_weeks = { iron = 1, copper = 3 }
"""
ROWS = (
    Enclosure(id="A", kind="box", metal="iron", last_regenerated=date(2025, 12, 29), gel_water_pct=5.0),
    Enclosure(id="B", kind="box", metal="iron", last_regenerated=date(2026, 1, 1), gel_water_pct=4.0),
    Enclosure(id="C", kind="box", metal="copper", last_regenerated=date(2025, 12, 15), gel_water_pct=8.0),
)


def scenario() -> Scenario:
    """Build the store; the first day is a Monday."""
    return stores.store(TEXT, ROWS, {"start": date(2026, 1, 5), "days": DAYS})


def events() -> list[tuple[int, str]]:
    """Everything that happens, as minute of the clock and words."""
    log: list[tuple[int, str]] = []
    prepare, take_in = Stockroom.prepare, Receiving.take_in

    def logged_prepare(self, parcel, now_min):
        log.append((now_min, "a packet is prepared"))
        return prepare(self, parcel, now_min)

    def logged_take_in(self, order):
        log.append((self.site.now_min, f"{order.packets} packets are taken in"))
        return take_in(self, order)

    with MonkeyPatch.context() as patch:
        patch.setattr(Stockroom, "prepare", logged_prepare)
        patch.setattr(Receiving, "take_in", logged_take_in)
        record = simulate(scenario(), "weekly")
    log += _recorded(record)
    return sorted(log, key=lambda event: event[0])


def _recorded(record: RunRecord) -> list[tuple[int, str]]:
    log = []
    for start in sorted({row.session_min for row in record.staff}):
        own = {row.task: row.minutes for row in record.staff if row.session_min == start}
        log.append((start, "Anna comes"))
        log.append((start + sum(own.values()), f"Anna goes; idle {own['idle']} min"))
    log += [(row.minute, f"{ROWS[row.enclosure].id} is exchanged, due {row.due_min}") for row in record.exchanges]
    for load in record.loads:
        log.append((load.loaded_min, f"{load.packets} packets begin to heat"))
        log += [(load.hot_min, "heat off")] if load.hot_min else []
        log += [(load.cool_min, "cool")] if load.cool_min else []
        log += [(load.unloaded_min, "unloaded")] if load.unloaded_min else []
    for order in record.orders:
        log.append((order.ordered_min, f"{order.packets} packets are ordered"))
        log += [(order.arrived_min, "the delivery arrives")] if order.arrived_min else []
    return log
