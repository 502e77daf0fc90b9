"""The table of whole-year cases, and each as a scenario of the program with its room's air."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from years import weather

from simstore.scenario.checking.check import check_document
from simstore.scenario.checking.document import frozen, with_catalogue
from simstore.scenario.checking.rules import findings_in
from simstore.scenario.checking.view import View
from simstore.scenario.scenario import HourlyAir, Scenario
from simstore.scenario.values.housing import Enclosure

TABLE = Path(__file__).with_name("cases.toml")
START = date(2026, 1, 1)
TORN_LEAK_PER_DAY = 20.0
NEIGHBOURS = ("neighbour with a loop", "neighbour in three bags")


@dataclass(frozen=True)
class Case:
    """One row of the table."""

    id: str
    probes: str
    room: str
    ceiling_pct: float
    opened_every_h: int | None
    exchanges: tuple[tuple[int, float, float], ...]
    torn_h: int | None
    miss: str
    object_water_g: float
    release_days: float
    water_pct: float | None


def document() -> dict[str, Any]:
    return tomllib.loads(TABLE.read_text(encoding="utf-8"))


@functools.cache
def cases() -> tuple[Case, ...]:
    return tuple(
        Case(
            id=row["id"],
            probes=row["probes"],
            room=row["room"],
            ceiling_pct=row["ceiling_pct"],
            opened_every_h=row.get("opened_every_h"),
            exchanges=tuple(map(tuple, row.get("exchanges", ()))),
            torn_h=row.get("torn_h"),
            miss=row.get("miss", ""),
            object_water_g=row.get("object_water_g", 0.0),
            release_days=row.get("release_days", 30.0),
            water_pct=row.get("water_pct"),
        )
        for row in document()["case"]
    )


def cases_in(room: str) -> list[Case]:
    return [each for each in cases() if each.room == room or weather.own(room)]


def case(name: str) -> Case:
    return next(each for each in cases() if each.id == name)


@functools.cache
def scenario(room: str) -> Scenario:
    """Build the store of all cases in one room, with two neighbours that nobody compares.

    It is checked by the rules that a user's file must pass.
    """
    table = document()
    rows = [*(row for row in table["case"] if row["room"] == room or weather.own(room)), *_neighbours()]
    sorts = {(row["packet"], row["gel"]) for row in rows if "packet" in row}
    settings = {
        "title": "Whole years",
        "note": "Invented data.",
        "start": START,
        "default_plan": "idle",
        "climate": {},
        "metals": {_key(row): {"label": row["id"], "ceiling_rh_pct": row.get("ceiling_pct", 50.0)} for row in rows},
        "films": {name: {"label": name, "source": "invented"} | film for name, film in table["film"].items()},
        "sorbents": {
            name: {"label": name, "source": "see the table of cases", "bulk_kg_per_m3": 700.0} | gel
            for name, gel in table["gel"].items()
        },
        "packets": {
            f"{packet} of {gel}": {"label": packet, "sorbent": gel} | table["packet"][packet] for packet, gel in sorts
        },
        "kinds": {_key(row): _kind(row) for row in rows},
        "technicians": {"nobody": {"sessions": ["Mon 09:00-09:30"]}},
        "plans": {"idle": {"label": "nobody comes", "rule": "calendar", "cadence_weeks": 500.0}},
        "watch": [row["id"] for row in rows],
    }
    enclosures = tuple(_enclosure(row) for row in rows)
    checked = check_document(with_catalogue(frozen(settings)))
    found = [*checked.findings]
    if checked.settings is not None:
        found += findings_in(View(settings=checked.settings, names=checked.names, enclosures=enclosures))
    assert not found, found
    temp_c, rh_pct = weather.room(room)
    return Scenario(settings=checked.settings, enclosures=enclosures, air=HourlyAir(temp_c=temp_c, rh_pct=rh_pct))


def _key(row: dict[str, Any]) -> str:
    return row["id"].lower().replace(" ", "_").replace(",", "").replace("-", "_")


def _kind(row: dict[str, Any]) -> dict[str, Any]:
    layers = [
        {"film": film, "thickness_um": float(um), "area_m2": area, "leak_per_day": leak, "gap_m3": air_l / 1000.0}
        for film, um, area, leak, air_l in row["layers"]
    ]
    del layers[-1]["gap_m3"]
    empty_m3 = row["layers"][-1][4] / 1000.0
    return {
        "label": row["id"],
        "form": "bag" if len(layers) > 1 else "box",
        "volume_m3": empty_m3 / 0.8,
        "empty_pct": 80.0,
        "layers": layers,
        "packet": f"{row['packet']} of {row['gel']}" if "packet" in row else None,
        "packets": row.get("packets", 1) if "packet" in row else 0,
        "packing_g_per_pct": row.get("packing_g_per_pct", 0.0),
        "object_water_g": row.get("object_water_g", 0.0),
        "release_days": row.get("release_days", 30.0),
        "failure_leak_per_day": TORN_LEAK_PER_DAY,
        "failures_per_year": 1e-9 if "torn_h" in row else 0.0,
    }


def _enclosure(row: dict[str, Any]) -> Enclosure:
    """Gel is weighed; only objects that give off water need the date on which they were packed: the first day."""
    wet = "object_water_g" in row
    return Enclosure(
        id=row["id"],
        kind=_key(row),
        metal=_key(row),
        gel_water_pct=None if wet or "packet" not in row else row["water_pct"],
        last_regenerated=START if wet else None,
    )


def _neighbours() -> list[dict[str, Any]]:
    layer = ["ldpe", 100, 0.3, 5.0, 2.0]
    return [
        {"id": NEIGHBOURS[0], "layers": [layer], "packet": "bag", "gel": "two_branches", "water_pct": 14.0},
        {
            "id": NEIGHBOURS[1],
            "layers": [layer, layer, layer],
            "packet": "five_grams",
            "gel": "toth_loop",
            "water_pct": 9.0,
        },
    ]
