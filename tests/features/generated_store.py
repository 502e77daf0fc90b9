"""Small stores drawn at random within the bounds of the schema, with every kind of event, for laws that always hold."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from features import little_store as shop
from hypothesis import assume
from hypothesis import strategies as st

from simstore.scenario.scenario import Scenario

FILMS = ("ldpe", "polypropylene", "foil_laminate", "rigid_metal")
PEOPLE = ("Mon 09:00-12:00", "Tue 08:30-17:00", "Thu 13:00-16:00", "Fri 00:00-20:00", "Sun 10:00-10:45")
RULES = ("calendar", "reading", "forecast")


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def kind(draw: Any, packets: list[str]) -> dict[str, Any]:
    volume_m3 = draw(st.sampled_from([0.002, 0.005, 0.02, 0.3]))
    count = draw(st.integers(1, 3))
    layers = []
    for number in range(count):
        layer = {
            "film": draw(st.sampled_from(FILMS)),
            "thickness_um": draw(between(20.0, 3000.0)),
            "area_m2": 6.0 * volume_m3 ** (2.0 / 3.0) * draw(between(0.8, 2.0)),
            "leak_per_day": draw(st.one_of(between(0.01, 100.0), st.just({"median": 1.5, "sigma_ln": 0.7}))),
        }
        if number < count - 1:
            layer["gap_m3"] = volume_m3 * draw(between(0.02, 0.3))
        layers.append(layer)
    return {
        "label": "a kind", "form": draw(st.sampled_from(["box", "bag"])), "volume_m3": volume_m3, "layers": layers,
        "packet": draw(st.sampled_from(packets)), "packets": draw(st.integers(0, 3)),
        "packing_g_per_pct": draw(st.sampled_from([0.0, 0.05, 3.0])),
        "object_water_g": draw(st.sampled_from([0.0, 0.3])), "release_days": draw(between(1.0, 60.0)),
        "failures_per_year": draw(st.sampled_from([0.0, 0.0, 6.0, 50.0])), "unit_price": draw(between(0.0, 9.0)),
        "replace_min": draw(between(1.0, 40.0)),
    }  # fmt: skip


@st.composite
def packet(draw: Any) -> dict[str, Any]:
    return {
        "label": "a packet", "sorbent": draw(st.sampled_from(["narrow_pore", "wide_pore"])),
        "gel_kg": draw(st.sampled_from([0.005, 0.05, 0.25])), "area_m2": draw(between(0.0004, 0.04)),
        "faces": draw(st.sampled_from([1, 2])), "perforation_pct": draw(between(0.001, 5.0)),
        "laid": draw(st.sampled_from(["flat", "heaped"])), "life_cycles": draw(st.integers(1, 4)),
        "unit_price": draw(between(0.0, 2.0)),
    }  # fmt: skip


@st.composite
def oven(draw: Any) -> dict[str, Any]:
    return {
        "count": draw(st.integers(0, 2)), "trays": draw(st.integers(1, 6)), "tray_area_m2": 0.16,
        "set_c": draw(between(95.0, 120.0)), "cycle_h": draw(between(0.5, 12.0)), "cool_h": draw(between(0.0, 6.0)),
        "cooling": draw(st.sampled_from(["in_oven", "sealed", "bench"])), "uneven_pct": draw(between(0.0, 40.0)),
        "least_load_pct": draw(between(0.0, 60.0)), "failures_per_year": draw(st.sampled_from([0.0, 20.0])),
        "repair_days": draw(between(0.5, 30.0)), "unit_price": draw(between(0.0, 500.0)),
    }  # fmt: skip


@st.composite
def stock(draw: Any) -> dict[str, Any]:
    return {
        "ready": draw(st.integers(0, 12)), "spent": draw(st.integers(0, 12)), "reorder_point": draw(st.integers(0, 5)),
        "order_quantity": draw(st.integers(1, 6)), "lead_days": draw(between(0.0, 20.0)),
        "ready_gain_pct_per_year": draw(between(0.0, 30.0)),
    }  # fmt: skip


@st.composite
def gel(draw: Any) -> dict[str, Any]:
    return {
        "loss_per_cycle_pct": draw(between(0.0, 8.0)), "fade_per_cycle_pct": draw(between(0.0, 10.0)),
        "discard_below_pct": draw(st.sampled_from([0.0, 60.0, 95.0])), "granule_pct": draw(between(0.0, 60.0)),
        "granule_loss_per_cycle_pct": draw(between(0.0, 20.0)), "blended": draw(st.booleans()),
        "supplied_water_pct": draw(between(0.0, 6.0)), "price_per_kg": draw(between(0.0, 15.0)),
    }  # fmt: skip


@st.composite
def row(draw: Any, number: int, kinds: list[str], metals: list[str]) -> Any:
    given: dict[str, Any] = {"kind": draw(st.sampled_from(kinds)), "metal": draw(st.sampled_from(metals))}
    known = draw(st.sampled_from(["weighed", "dated", "unknown"]))
    if known == "weighed":
        given["gel_water_pct"] = draw(between(0.0, 35.0))
    elif known == "dated":
        given["last_regenerated"] = shop.START - timedelta(days=draw(st.integers(0, 900)))
    else:
        given["gel_water_pct"] = None
    if draw(st.booleans()):
        given["leak_per_day"] = draw(between(0.01, 300.0))
    if draw(st.booleans()):
        given["packets"] = draw(st.integers(0, 2))
    return shop.row(f"A{number}", **given)


@st.composite
def events(draw: Any, kinds: list[str], metals: list[str], days: int) -> dict[str, Any]:
    dates = st.integers(0, days - 1).map(lambda day: shop.START + timedelta(days=day))
    found: dict[str, Any] = {}
    if draw(st.booleans()):
        rate = draw(between(0.0, 400.0))
        found["visits"] = [{"metal": draw(st.sampled_from(metals)), "visits_per_year": rate, "staff_min": 12.0}]
    if draw(st.booleans()):
        found["arrivals"] = [{
            "arrives": draw(dates), "kind": draw(st.sampled_from(kinds)),
            "metal": draw(st.sampled_from(metals)), "count": draw(st.integers(1, 3)),
            "object_water_g": draw(st.sampled_from([0.0, 0.5])),
        }]  # fmt: skip
    if len(kinds) > 1 and draw(st.booleans()):
        found["rehousing"] = [{
            "starts": draw(dates), "replace": {kinds[0]: kinds[1]}, "rehouse_min": 20.0,
        }]  # fmt: skip
    if draw(st.booleans()):
        found["incidents"] = [{
            "what": draw(st.sampled_from(["oven_out", "air_handling_out", "power_cut", "person_away"])),
            "starts": draw(dates), "days": draw(between(0.5, 20.0)),
            "shift_rh_pct": draw(between(-20.0, 30.0)),
        }]  # fmt: skip
    return found


@st.composite
def stores(draw: Any) -> Scenario:
    """Draw a store of one to five enclosures and a run of 20 to 60 days under its plan ``drawn``."""
    packets = [f"p{n}" for n in range(draw(st.integers(1, 2)))]
    kinds = [f"k{n}" for n in range(draw(st.integers(1, 2)))]
    metals = ["iron", "bronze"][: draw(st.integers(1, 2))]
    people = {
        name: {"sessions": draw(st.lists(st.sampled_from(PEOPLE), min_size=1, max_size=4, unique=True)),
               "sick_days_per_year": draw(st.sampled_from([0.0, 60.0])), "wage_per_h": 30.0}
        for name in ["anna", "ben"][: draw(st.integers(1, 2))]
    }  # fmt: skip
    days = draw(st.integers(20, 60))
    changes = {
        "days": days,
        "seed": draw(st.integers(0, 1000)),
        "default_plan": "drawn",
        "climate": {
            "temp_mean_c": draw(between(0.0, 28.0)), "temp_swing_c": draw(between(0.0, 8.0)),
            "temp_noise_c": draw(between(0.0, 2.0)), "rh_mean_pct": draw(between(25.0, 85.0)),
            "rh_swing_pct": draw(between(0.0, 15.0)), "rh_noise_pct": draw(between(0.0, 8.0)),
        },
        "metals": {"iron": {"ceiling_rh_pct": draw(between(8.0, 40.0))},
                   "bronze": {"label": "bronze", "ceiling_rh_pct": draw(between(20.0, 60.0))}},
        "kinds": {name: draw(kind(packets)) for name in kinds},
        "packets": {name: draw(packet()) for name in packets},
        "sorbents": {"narrow_pore": draw(gel())},
        "technicians": people,
        "ovens": {"o": draw(oven())},
        "stock": {name: draw(stock()) for name in packets},
        "prices": {"budget_per_year": draw(st.sampled_from([None, 20.0]))},
        "plans": {"drawn": {
            "label": "drawn", "rule": draw(st.sampled_from(RULES)), "cadence_weeks": draw(between(0.5, 8.0)),
            "indicator": "strip_10", "without_packet": draw(st.sampled_from(["wait", "go_without"])),
            "leak_knowledge": draw(st.sampled_from(["kind", "measured", "exact"])),
        }},
        **draw(events(kinds, metals, days)),
    }  # fmt: skip
    rows = [draw(row(number, kinds, metals)) for number in range(draw(st.integers(1, 5)))]
    settings, found = shop.findings(*rows, **changes)
    assume(not found)
    return Scenario(settings=settings, enclosures=tuple(rows))
