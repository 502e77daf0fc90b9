"""Whatever is accepted can be simulated: every number of a store at its limits, alone and many at a time."""

from __future__ import annotations

import math
import random
import typing
from pathlib import Path

import pytest
from pydantic import BaseModel

from simstore.errors import SimstoreError
from simstore.results.metrics import metrics_of
from simstore.scenario.reading.load import load_scenario
from simstore.sim.run import simulate

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
DAYS = 20
NOT_TRIED = {"years", "days", "horizon_years", "seed"}
NO_LIMIT = 1e15
"""Stands for a limit that is not there."""


def limits(info) -> tuple[float, float]:
    """Lowest and highest number that a field takes."""
    found = {"low": -NO_LIMIT, "high": NO_LIMIT}

    def look(each) -> None:
        for inner in (each, *getattr(each, "metadata", ())):
            for name in ("ge", "gt", "le", "lt"):
                bound = getattr(inner, name, None)
                if bound is not None:
                    found["low" if name[0] == "g" else "high"] = bound + {"gt": 1e-9, "lt": -1e-9}.get(name, 0.0)
        for inner in (*typing.get_args(each), *getattr(each, "__metadata__", ())):
            look(inner)

    for each in (*info.metadata, info.annotation):
        look(each)
    return found["low"], found["high"]


def numbers(value, path=(), info=None):
    """Dotted key, lowest, highest and whether it is whole, of every number of a store."""
    if isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            yield from numbers(getattr(value, name), (*path, name), field)
    elif isinstance(value, dict):
        for name, each in value.items():
            yield from numbers(each, (*path, name), info)
    elif isinstance(value, tuple):
        for place, each in enumerate(value):
            if isinstance(each, BaseModel):
                yield from numbers(each, (*path, str(place)), info)
    elif path[-1] not in NOT_TRIED and "changes" not in path and not isinstance(value, bool):
        words = str(info.annotation)
        if "Literal" in words:
            return
        if isinstance(value, int | float) or (value is None and ("float" in words or "int" in words)):
            whole = isinstance(value, int) or (value is None and "float" not in words)
            yield ".".join(path), *limits(info), whole


NUMBERS = list(numbers(TINY.settings))


def accepted_is_simulated(changes) -> bool:
    """Whether the store with these changes was accepted; then a run must end well and its books close."""
    try:
        scenario = TINY.with_changes({"days": DAYS, **changes})
    except SimstoreError:
        return False
    record = simulate(scenario, scenario.settings.default_plan)
    values = [row.value for row in metrics_of(record)]
    assert not any(math.isinf(value) for value in values), changes
    assert record.ledger.water_error < 1e-9, changes
    assert record.ledger.gel_error < 1e-9, changes
    assert record.enclosures.worst_rh_pct.max() <= 100.0 + 1e-9, changes
    return True


def test_every_number_of_the_schema_has_two_limits():
    without = [key for key, low, high, _ in NUMBERS if NO_LIMIT in (-low, high)]

    assert without == []


@pytest.mark.parametrize("part", range(8))
def test_a_store_with_one_number_at_a_limit_is_refused_or_runs(part):
    accepted = 0
    for key, low, high, whole in NUMBERS[part::8]:
        for value in (low, high):
            accepted += accepted_is_simulated({key: round(value) if whole else float(value)})
    assert accepted > 10


@pytest.mark.parametrize("seed", range(30))
def test_a_store_with_many_numbers_at_random_places_is_refused_or_runs(seed):
    draw = random.Random(seed)
    changes = {}
    for key, low, high, whole in draw.sample(NUMBERS, 12):
        value = draw.choice([low, high, low + (high - low) * draw.random() ** 3])
        changes[key] = round(value) if whole else float(value)
    # One that is refused must not hide the others.
    kept = {key: value for key, value in changes.items() if accepted_alone(key, value)}
    accepted_is_simulated(kept)


def accepted_alone(key, value) -> bool:
    try:
        TINY.with_changes({key: value})
    except SimstoreError:
        return False
    return True
