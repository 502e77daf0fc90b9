"""Rooms for the whole-year cases: measured weather that pvlib carries, and invented weather by seed.

Measured outdoor air is taken straight as the air of the room, which is harsher than any store. Invented weather is
rounded as measured weather is, so that it is the same to the last bit on every machine.
"""

from __future__ import annotations

import csv
import functools
import importlib.resources
import math
import random
from pathlib import Path

import numpy as np

HOURS = 8760
TMY3 = {"Sand Point": "703165TY.csv", "Greensboro": "723170TYA.CSV"}
TMY2 = {"Miami": "12839.tm2"}
LOWEST_PCT, HIGHEST_PCT = 1.0, 100.0


_OWN: dict[str, tuple[np.ndarray, np.ndarray]] = {}


def add(name: str, air: tuple[np.ndarray, np.ndarray]) -> None:
    """Let ``name`` be a room with weather of your own, in which every enclosure of the table stands."""
    _OWN[name] = air


def own(name: str) -> bool:
    return name in _OWN


@functools.cache
def room(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Temperature [degC] and relative humidity [%RH] of a year, shape (8760,)."""
    if name in _OWN:
        return _OWN[name]
    if name in TMY3:
        temp_c, rh_pct = _tmy3(TMY3[name])
    elif name in TMY2:
        temp_c, rh_pct = _tmy2(TMY2[name])
    else:
        temp_c, rh_pct = {"desert": _desert, "frost": _frost, "fronts": _fronts, "cellar": _cellar}[name]()
    temp_c, rh_pct = np.round(temp_c, 1), np.clip(np.round(rh_pct, 1), LOWEST_PCT, HIGHEST_PCT)
    temp_c.flags.writeable = rh_pct.flags.writeable = False
    return temp_c, rh_pct


def _lines(name: str) -> list[str]:
    return importlib.resources.files("pvlib").joinpath("data", name).read_text(encoding="latin-1").splitlines()


def _tmy3(name: str):
    header, *rows = csv.reader(_lines(name)[1:])
    places = [header.index(column) for column in ("Dry-bulb (C)", "RHum (%)")]
    return np.array([[float(row[place]) for place in places] for row in rows]).T


def _tmy2(name: str):
    """Read fixed columns: dry bulb in 0.1 degC from column 68 on, relative humidity from column 80 on."""
    return np.array([[float(line[67:71]) / 10.0, float(line[79:82])] for line in _lines(name)[1:]]).T


def epw(path: Path):
    """Read an EPW file from disk, for comparing by hand: dry bulb and RH of 8760 hours."""
    rows = [line.split(",") for line in path.read_text(encoding="latin-1").splitlines()[8:] if line.strip()]
    temp_c, rh_pct = np.array([[float(row[6]), float(row[8])] for row in rows]).T
    return temp_c, np.clip(rh_pct, LOWEST_PCT, HIGHEST_PCT)


def _swings(mean: float, year: float, day: float, warmest_day: float):
    hour = np.arange(HOURS)
    season = np.cos(2.0 * math.pi * (hour / 24.0 - warmest_day) / 365.0)
    return mean + year * season + day * np.cos(2.0 * math.pi * (hour - 15.0) / 24.0), season


def _wander(seed: str, size: float, keep: float) -> np.ndarray:
    """A walk that is drawn back to nothing, evenly distributed shocks."""
    luck, value, values = random.Random(seed), 0.0, []
    for _ in range(HOURS):
        value = keep * value + size * (2.0 * luck.random() - 1.0)
        values.append(value)
    return np.array(values)


def _desert():
    """Hot and dry, 47 degC at the worst; cold clear nights."""
    temp_c, season = _swings(26.0, 9.0, 9.0, 200.0)
    temp_c = np.minimum(temp_c + _wander("desert, temperature", 1.0, 0.97), 47.0)
    daily = np.cos(2.0 * math.pi * (np.arange(HOURS) - 3.0) / 24.0)
    return temp_c, 28.0 - 8.0 * season + 14.0 * daily + _wander("desert, humidity", 2.0, 0.97)


def _frost():
    """Long frost, -23 degC at the worst; damp."""
    temp_c, season = _swings(2.0, 13.0, 3.0, 205.0)
    temp_c = np.maximum(temp_c + _wander("frost, temperature", 2.5, 0.985), -23.0)
    return temp_c, 80.0 - 8.0 * season + _wander("frost, humidity", 4.0, 0.97)


def _fronts():
    """Sudden fronts: every one to six days the air is another one within an hour, up to 15 K and from dry to damp."""
    luck, temp_c, rh_pct = random.Random("fronts"), [], []
    base, _ = _swings(15.0, 8.0, 1.0, 205.0)
    while len(temp_c) < HOURS:
        shift_c, level_pct = 15.0 * luck.random() - 7.5, 8.0 + 91.0 * luck.random()
        for _ in range(24 + int(120 * luck.random())):
            temp_c.append(shift_c)
            rh_pct.append(level_pct)
    return base + np.array(temp_c[:HOURS]), np.array(rh_pct[:HOURS])


def _cellar():
    """Cool, damp and slow; saturated for days in late summer."""
    temp_c, season = _swings(11.0, 4.0, 0.3, 235.0)
    return temp_c, 84.0 + 14.0 * season + _wander("cellar, humidity", 0.7, 0.995)
