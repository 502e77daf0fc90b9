"""Scenarios and run records made by hand, small enough to work out on paper."""

import hashlib
import json
from datetime import date

import numpy as np

from simstore.scenario.scenario import Scenario
from simstore.scenario.values.fields import Lognormal
from simstore.scenario.values.housing import Enclosure, Film, Kind, Layer, Metal
from simstore.scenario.values.plan import Plan
from simstore.scenario.values.room import Climate
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import DubininAstakhov, Indicator, Packet, Sorbent
from simstore.scenario.values.work import Oven, Prices, Stock, Technician
from simstore.sim.record import (
    EnclosureYear,
    Exchange,
    Ledger,
    Load,
    Order,
    Round,
    RunRecord,
    StaffTime,
    StockDay,
    Undone,
)

ISOTHERM = DubininAstakhov(capacity_kg_per_kg=0.35, energy_j_per_mol=4000.0, exponent=1.5)


def small_scenario(*, currency: str = "EUR", discount_pct: float = 0.0, years: int = 1, seed: int = 7) -> Scenario:
    """Three enclosures, two metal classes, one technician, one oven."""
    layer = Layer(film="pe", thickness_um=2000.0, area_m2=0.2, leak_per_day=Lognormal(median=1.5, sigma_ln=0.7))
    kinds = {
        "box": Kind(
            label="a box", form="box", volume_m3=0.005, layers=(layer,), packet="p", unit_price=30.0, life_years=20.0
        ),
        "bag": Kind(
            label="a bag", form="bag", volume_m3=0.002, layers=(layer,), packet="c", unit_price=2.0, life_years=5.0
        ),
    }
    settings = Settings(
        title="made by hand",
        start=date(2025, 1, 1),
        years=years,
        seed=seed,
        default_plan="quarterly",
        climate=Climate(),
        metals={
            "iron": Metal(label="iron", ceiling_rh_pct=15.0, standard_pct=99.0),
            "bronze": Metal(label="bronze", ceiling_rh_pct=38.0, standard_pct=50.0),
        },
        kinds=kinds,
        films={"pe": Film(label="polyethylene", permeability_kg_per_m_s_pa=1e-16)},
        sorbents={
            "white": Sorbent(label="white gel", isotherm=ISOTHERM, price_per_kg=5.0, loss_per_cycle_pct=1.0),
            "blue": Sorbent(
                label="blue gel", isotherm=ISOTHERM, price_per_kg=10.0, loss_per_cycle_pct=0.0, indicator="co"
            ),
        },
        indicators={"co": Indicator(label="cobalt", starts_rh_pct=20, ends_rh_pct=40, hazard="cobalt")},
        packets={
            "p": Packet(label="white packet", sorbent="white", gel_kg=0.2, unit_price=0.5, life_cycles=50),
            "c": Packet(label="blue packet", sorbent="blue", gel_kg=0.1, unit_price=0.25, life_cycles=10),
        },
        technicians={"Ada": Technician(sessions=("Tue 09:00-12:00",), wage_per_h=30.0)},
        ovens={
            "small": Oven(count=2, trays=4, tray_area_m2=0.2, unit_price=1000.0, life_years=10.0, repair_price=80.0)
        },
        stock={"p": Stock(ready=10, spent=5, order_quantity=10), "c": Stock()},
        prices=Prices(
            currency=currency,
            energy_per_kwh=0.3,
            disposal_per_kg=1.0,
            hazardous_disposal_per_kg=8.0,
            discount_pct_per_year=discount_pct,
        ),
        plans={
            "quarterly": Plan(label="every quarter", rule="calendar"),
            "yearly": Plan(label="every year", rule="calendar", cadence_weeks=52.0),
        },
    )
    enclosures = (
        Enclosure(id="B-1", kind="box", metal="iron", objects=3),
        Enclosure(id="B-2", kind="box", metal="iron", objects=1),
        Enclosure(id="C-1", kind="bag", metal="bronze", objects=2),
    )
    return Scenario(settings=settings, enclosures=enclosures)


def small_record(
    plan: str = "quarterly", replication: int = 0, *, water_error: float = 1e-14, scenario: Scenario | None = None
) -> RunRecord:
    """Four days of the store of :func:`small_scenario`, or of one that differs from it in its settings.

    Daily mean RH inside: B-1 10 11 12 13, B-2 14 16 18 20, C-1 30 30 30 30; room 50 54 50 54.
    """
    day_mean = np.array([[10, 11, 12, 13], [14, 16, 18, 20], [30, 30, 30, 30]], dtype=np.float32)
    enclosures = EnclosureYear(
        id=["B-1", "B-2", "C-1"],
        kind=["box", "box", "bag"],
        counted_days=np.array([4, 4, 4]),
        metal=["iron", "iron", "bronze"],
        objects=np.array([3, 1, 2]),
        leak_per_day=np.array([1.0, 4.0, 2.0]),
        wall_kg_per_s_pa=np.array([1e-14, 4e-14, 2e-14]),
        held_days=np.array([4, 1, 4]),
        dry_days=np.array([0, 0, 0]),
        lower_limit_rh_pct=np.zeros(3),
        days=4,
        hours_over=np.array([0, 70, 0]),
        liquid_hours=np.array([0, 0, 0]),
        excess_pct_days=np.array([0.0, 9.0, 0.0]),
        worst_rh_pct=np.array([13.5, 20.5, 31.0]),
        mean_rh_pct=np.array([11.5, 17.0, 30.0]),
        exchanges=np.array([0, 2, 1]),
        week_hours_over=np.array([[0], [70], [0]], dtype=np.uint8),
        day_mean_rh_pct=day_mean,
    )
    ledger = Ledger(
        gel_start_kg=5.0,
        gel_bought_kg=2.0,
        gel_lost_kg=0.6,
        gel_end_kg=6.4,
        water_start_kg=0.5,
        water_through_walls_kg=0.1,
        water_with_openings_kg=0.0,
        water_with_purchases_kg=0.0,
        water_driven_off_kg=0.1,
        water_regained_kg=0.0,
        water_lost_with_gel_kg=0.0,
        water_end_kg=0.5,
        gel_error=0.0,
        water_error=water_error,
    )

    def exchange(minute: int, enclosure: int, packet: str, packets: int, due_min: int) -> Exchange:
        return Exchange(minute, enclosure, "Ada", packet, packets, "calendar", due_min, 15.0, 8.0, 2.0)

    return RunRecord(
        scenario=(scenario or small_scenario()).under(plan),
        plan=plan,
        replication=replication,
        days=4,
        enclosures=enclosures,
        room_temp_c=np.full(96, 16.0, dtype=np.float32),
        room_rh_pct=np.repeat(np.array([50, 54, 50, 54], dtype=np.float32), 24),
        ledger=ledger,
        rounds=[Round(540, "Ada", 3, inspected=3, called=1, truly_over=1, ended_min=600), Round(1980, "Ada", 3)],
        exchanges=[
            exchange(2000, 1, "p", 1, 560),
            exchange(600, 1, "p", 1, 600),
            exchange(2000, 2, "c", 2, 560),
        ],
        loads=[
            Load(
                "small",
                "Ada",
                700,
                4,
                0.8,
                0.1,
                hot_min=1200,
                cool_min=1500,
                unloaded_min=2140,
                water_out_kg=0.016,
                energy_kwh=5.0,
            ),
            Load("small", "Ada", 2200, 2, 0.4, 0.05),
        ],
        stock=[
            StockDay(day, packet, ready, spent, 0, 2, 0, discarded, 2.0, lost_kg=lost_kg * (day + 1) / 4)
            for packet, readies, spents, discarded, lost_kg in (
                ("p", (10, 9, 7, 8), (5, 6, 2, 2), 1, 0.35),
                ("c", (3, 3, 1, 2), (0, 0, 2, 1), 2, 0.25),
            )
            for day, (ready, spent) in enumerate(zip(readies, spents, strict=True))
        ],
        staff=[
            StaffTime(540, "Ada", "inspect", 50),
            StaffTime(540, "Ada", "exchange", 30),
            StaffTime(540, "Ada", "idle", 100),
            StaffTime(1980, "Ada", "exchange", 40),
        ],
        orders=[Order(600, "p", 10, 2.0, 15.0, arrived_min=None)],
        undone=[Undone("exchange", "B-1", 3000)],
    )


def hashed_anew(folder):
    """Put the hashes of files as they are now into the manifest, as somebody who means the change would."""
    place = folder / "manifest.json"
    facts = json.loads(place.read_text(encoding="utf-8"))
    facts["written"] = {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in facts["written"]}
    place.write_text(json.dumps(facts), encoding="utf-8")
