"""A store of a few invented enclosures in a room of 20 degC and 50 %RH, to be changed one feature at a time.

Every variant is checked by the rules that a user's file must pass. The plain formulas below are written down anew for
the tests and share no code with the program.
"""

from __future__ import annotations

import math
from collections import Counter
from datetime import date
from typing import Any

from simstore.money.costs import cost_lines
from simstore.results.tallied import tally_of
from simstore.scenario.checking.check import check_document
from simstore.scenario.checking.document import frozen, with_catalogue
from simstore.scenario.checking.rules import findings_in
from simstore.scenario.checking.view import View
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.housing import Enclosure
from simstore.sim.record import RunRecord
from simstore.sim.run import simulate

START = date(2026, 1, 1)  # a Thursday
DAY = 1440
YEAR_DAYS = 365
PSAT_20_C_PA = 2339.19  # IAPWS-95
CSAT_20_C_KG_PER_M3 = 17.290e-3  # ideal gas on it
R_VAPOUR = 461.52
GAS = 8.314462618
T_20_C = 293.15
ALL_WEEK = ["Mon 09:00-17:00", "Tue 09:00-17:00", "Wed 09:00-17:00", "Thu 09:00-17:00", "Fri 09:00-17:00"]

BASE: dict[str, Any] = {
    "title": "Little store",
    "note": "Invented data.",
    "start": START,
    "days": 60,
    "default_plan": "idle",
    "climate": {
        "temp_mean_c": 20.0, "temp_swing_c": 0.0, "temp_noise_c": 0.0,
        "rh_mean_pct": 50.0, "rh_swing_pct": 0.0, "rh_noise_pct": 0.0,
    },
    "metals": {"iron": {"label": "iron", "ceiling_rh_pct": 15.0}},
    "kinds": {
        "box": {
            "label": "metal box", "form": "box", "volume_m3": 0.01, "packet": "p",
            "layers": [{"film": "rigid_metal", "thickness_um": 1000.0, "area_m2": 0.3, "leak_per_day": 1.0}],
        },
    },
    # Narrow-pore gel of Sapienza et al. 2017, Renewable Energy 110:40, whose formula the tests write down anew.
    "sorbents": {"narrow_pore": {"isotherm": {
        "form": "dubinin_astakhov", "capacity_kg_per_kg": 0.38, "energy_j_per_mol": 3962.2, "exponent": 1.1,
    }}},
    "packets": {"p": {"label": "packet", "sorbent": "narrow_pore", "gel_kg": 0.25}},
    "technicians": {"anna": {"sessions": ALL_WEEK, "wage_per_h": 30.0}},
    "plans": {
        "idle": {"label": "nobody comes", "rule": "calendar", "cadence_weeks": 500.0},
        "work": {"label": "often", "rule": "calendar", "cadence_weeks": 2.0},
        "read": {"label": "look", "rule": "reading", "cadence_weeks": 1.0, "indicator": "strip_10"},
    },
}  # fmt: skip

OVEN = {"trays": 4, "tray_area_m2": 0.1, "least_load_pct": 0.0}


def merged(document: Any, changes: Any) -> Any:
    if not (isinstance(document, dict) and isinstance(changes, dict)):
        return changes
    return {
        key: merged(document.get(key), changes[key]) if key in changes else document[key] for key in document | changes
    }


def findings(*rows: Enclosure, **changes: Any) -> tuple[Any, list[str]]:
    """Settings of the store with these changes, and what a user would be told about them."""
    checked = check_document(with_catalogue(frozen(merged(BASE, changes))))
    view = View(settings=checked.settings, names=checked.names, enclosures=rows)
    found = [*checked.findings, *findings_in(view)]
    return checked.settings, [f"{'.'.join(map(str, each.path))}: {each.rule}; {each.cure}" for each in found]


def store(*rows: Enclosure, air: Any = None, **changes: Any) -> Scenario:
    settings, found = findings(*rows, **changes)
    assert not found, found
    return Scenario(settings=settings, enclosures=rows, air=air)


def row(name: str = "A", **given: Any) -> Enclosure:
    """One enclosure with freshly weighed dry gel, unless something else is given."""
    values = {"kind": "box", "metal": "iron", "gel_water_pct": 2.0} | given
    if "last_regenerated" in given or given.get("packets") == 0:
        values["gel_water_pct"] = None
    return Enclosure(id=name, **values)


def run(scenario: Scenario, plan: str = "idle", replication: int = 0) -> RunRecord:
    """Simulate, and insist that both books close whatever the feature."""
    record = simulate(scenario, plan, replication)
    assert record.ledger.gel_error < 1e-9
    assert record.ledger.water_error < 1e-9
    return record


def live(*rows: Enclosure, plan: str = "idle", **changes: Any) -> RunRecord:
    return run(store(*rows, **changes), plan)


def costs(record: RunRecord) -> dict[str, float]:
    return {line.line: line.amount_per_year for line in cost_lines(tally_of(record))}


def task_minutes(record: RunRecord, **only: Any) -> Counter[str]:
    minutes: Counter[str] = Counter()
    for each in record.staff:
        if all(getattr(each, key) == value for key, value in only.items()):
            minutes[each.task] += each.minutes
    return minutes


def leak_kg_per_s_pa(per_day: float, volume_m3: float, temp_k: float = T_20_C) -> float:
    return per_day / 86400 * volume_m3 / (R_VAPOUR * temp_k)


def arrhenius(at: float, measured_c: float, kj_per_mol: float, temp_k: float = T_20_C) -> float:
    return at * math.exp(-kj_per_mol * 1e3 / GAS * (1 / temp_k - 1 / (measured_c + 273.15)))


def rh_over_gel(q: float, temp_k: float = T_20_C) -> float:
    """RH over the narrow-pore gel of Sapienza et al. 2017 (Renewable Energy 110:40), as a fraction."""
    return math.exp(-3962.2 * math.log(0.38 / q) ** (1 / 1.1) / (GAS * temp_k))


def water_on_gel(rh: float, temp_k: float = T_20_C) -> float:
    return 0.38 * math.exp(-((-GAS * temp_k * math.log(rh) / 3962.2) ** 1.1))
