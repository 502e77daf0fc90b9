"""How much gel goes into an enclosure: by the usual rule, as the scenario fills it, and as a year of its leak needs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simstore.physics.air import saturation_pressure_pa
from simstore.physics.quantity import third_of_empty_space_kg
from simstore.results.metrics import shares_pct
from simstore.scenario.values.settings import Settings
from simstore.sim.opening import coming_finds
from simstore.sim.record import RunRecord
from simstore.store.gel import curve
from simstore.store.housed import Housed, house
from simstore.units import DAYS_PER_YEAR, SECONDS_PER_HOUR

REFERENCE_C = 18.0
"""Temperature at which gel is taken to hold its water for this table, an assumption. [degC]"""
MEAN_SHARE_OF_CEILING = 0.5
"""The RH inside rises to the ceiling from almost nothing; so much of the ceiling stands for its mean."""


def fill_rule_columns(record: RunRecord) -> Mapping[str, list[Any]]:
    """Rows of the table ``fill_rule``, one for each kind and metal, in their order.

    Notes
    -----
    The need is the water that the wall would let in over a year of this room, with half the ceiling inside, over what a
    kilogram of gel takes up from freshly dried to the ceiling at 18 degC. Packing and objects are left out.
    """
    settings, year = record.scenario.settings, record.enclosures
    everything = record.scenario.enclosures + tuple(each for each, _, _ in coming_finds(settings)[0])
    rows = [house(settings, enclosure, kind) for enclosure, kind in zip(everything, year.kind, strict=True)]
    groups: dict[tuple[str, str], list[int]] = {}
    for i, row in enumerate(rows):
        groups.setdefault((row.kind_name, row.enclosure.metal), []).append(i)
    found: dict[str, list[Any]] = {name: [] for name in _NAMES}
    for (kind, metal), members in sorted(groups.items()):
        own = [rows[i] for i in members]
        need = _need_kg_per_year(record, own, year.wall_kg_per_s_pa[members])
        held, counted = ((year.objects[members] * days[members]).sum() for days in (year.held_days, year.counted_days))
        cells = (
            kind,
            metal,
            len(own),
            float(np.mean([row.empty_m3 for row in own])),
            float(np.mean([_rule_kg(settings, row) for row in own])),
            float(np.mean([row.packet.gel_kg * row.packets if row.packet else 0.0 for row in own])),
            float(np.median(need)),
            float(np.quantile(need, 0.95)),
            float(year.exchanges[members].sum()) / len(own) / (record.days / DAYS_PER_YEAR),
            float(shares_pct(held, counted)),
        )
        for name, cell in zip(_NAMES, cells, strict=True):
            found[name].append(cell)
    return found


_NAMES = (
    "kind", "metal", "enclosures", "empty_m3", "rule_kg", "filled_kg", "need_p50_kg", "need_p95_kg",
    "exchanges_per_year", "held_pct",
)  # fmt: skip


def _rule_kg(settings: Settings, row: Housed) -> float:
    """Gel that fills one third of the empty space; NaN where there is no packet to say which gel."""
    if row.packet is None:
        return float("nan")
    bulk = settings.sorbents[row.packet.sorbent].bulk_kg_per_m3
    return float(third_of_empty_space_kg(row.empty_m3, bulk))


def _need_kg_per_year(record: RunRecord, rows: list[Housed], walls: NDArray[np.float64]) -> NDArray[np.float64]:
    """Gel that a year's water would bring to the ceiling, shape (rows,); NaN without a packet."""
    settings = record.scenario.settings
    ceiling = settings.metals[rows[0].enclosure.metal].ceiling_rh_pct / 100.0
    outside = record.room_rh_pct.astype(np.float64) / 100.0
    psat = saturation_pressure_pa(record.room_temp_c.astype(np.float64))
    hours_per_year = len(outside) * DAYS_PER_YEAR / record.days
    drive_pa = max(float(np.mean(psat * (outside - MEAN_SHARE_OF_CEILING * ceiling))), 0.0)
    water_kg = walls * drive_pa * hours_per_year * SECONDS_PER_HOUR
    takes = np.full(len(rows), np.nan)
    for i, row in enumerate(rows):
        if row.packet is not None:
            sorbent = settings.sorbents[row.packet.sorbent]
            full = float(curve(sorbent.isotherm).uptake_kg_per_kg(ceiling, REFERENCE_C))
            takes[i] = max(full - sorbent.supplied_water_pct / 100.0, 0.0) or np.nan
    return np.asarray(water_kg / takes)
