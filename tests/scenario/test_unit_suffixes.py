"""Every number that a user gives says its unit in its name."""

from __future__ import annotations

import typing

from pydantic import BaseModel

from simstore.scenario.checking.key_paths import members
from simstore.scenario.values.settings import Settings
from simstore.units import UNIT_SUFFIXES

# Plain counts and dimensionless exponents and ratios; the seed; the two names inside a distribution take the unit of
# the key that holds them; a table of points and an age in days say so in full,
# as does a share of the empty volume; a search varies any key, and an uncertain range is of any key.
WITHOUT_UNIT = {
    "seed", "packets", "objects", "trays", "points", "regenerated_days_ago", "ready", "spent", "reorder_point",
    "order_quantity", "least_order", "price_breaks", "life_cycles", "exponent", "leak_quantile", "median", "temp_peak_day",
    "rh_peak_day", "changes", "gel_pct_of_empty", "most", "vary", "low", "high", "moisture_ratio",
}  # fmt: skip


def parts(annotation):
    for part in members(annotation):
        yield part
        if typing.get_origin(part) in (dict, tuple):
            for inner in typing.get_args(part):
                yield from parts(inner)


def numeric_fields(model, seen):
    if model in seen:
        return
    seen.add(model)
    for name, info in model.model_fields.items():
        kinds = set(parts(info.annotation))
        if kinds & {int, float}:
            yield model.__name__, name
        for part in kinds:
            if isinstance(part, type) and issubclass(part, BaseModel):
                if part.__name__ == "Lognormal":
                    yield model.__name__, name
                yield from numeric_fields(part, seen)


FIELDS = sorted(set(numeric_fields(Settings, set())))


def test_the_walk_reaches_the_fields_of_every_table():
    assert {("Kind", "volume_m3"), ("Layer", "leak_per_day"), ("Oven", "set_c"), ("Toth", "heat_j_per_kg")} <= set(
        FIELDS
    )
    assert len(FIELDS) > 80


def test_every_numeric_field_ends_in_a_unit_or_is_a_named_exception():
    silent = [
        f"{table}.{field}"
        for table, field in FIELDS
        if field not in WITHOUT_UNIT and not f"_{field}".endswith(UNIT_SUFFIXES)
    ]

    assert silent == []


def test_no_exception_is_named_in_vain():
    assert {field for _, field in FIELDS} >= WITHOUT_UNIT
