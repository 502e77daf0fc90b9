"""Whole years of the simulation against the stiff solver: every hour, the hours over the ceiling, and the water."""

from __future__ import annotations

import numpy as np
import pytest
from years import lived, solved, store

pytest.importorskip("pvlib")
BOUND_PCT = 0.05  # %RH at every hour, asked for by the project
HOURS_SHARE = 0.002
CASES = store.cases()
ROOMS = sorted({case.room for case in CASES})
everywhere = pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)


def held(case: store.Case) -> dict[str, bool]:
    """Which of the promises hold in a year."""
    ours, truth = lived.year(case.room).cases[case.id], solved.answers()[case.id]
    box = solved.question(case).enclosed
    over, truly = ours.mean_pct > case.ceiling_pct, truth.mean_pct > case.ceiling_pct
    gel_kg = 0.0 if box.gel is None else box.gel.kg
    return {
        "every hour within 0.05 %RH": bool(np.abs(ours.mean_pct - truth.mean_pct).max() <= BOUND_PCT),
        "hours over": abs(ours.hours_over - truly.sum()) <= max(HOURS_SHARE * truly.sum(), 1.0),
        "first passing": abs(int(over.argmax()) - int(truly.argmax())) <= 1 and over.any() == truly.any(),
        "gel's water": abs(ours.gel_water_kg - gel_kg * truth.last.q) <= 1e-4 * gel_kg,
    }


@everywhere
def test_a_year_agrees_with_the_stiff_solver(case):
    promises = held(case)

    if case.miss:
        assert not all(promises.values()), f"{case.id} is within its bounds now: take its miss away"
    else:
        assert all(promises.values()), promises


@pytest.mark.parametrize("room", ROOMS)
def test_no_case_is_changed_by_what_is_done_to_other_enclosures(room):
    alone, beside = lived.year(room), lived.year(room, disturbed=True)

    moved = {name for name, year in alone.cases.items() if np.any(year.mean_pct != beside.cases[name].mean_pct)}
    assert not moved


@pytest.mark.parametrize("room", ROOMS)
@pytest.mark.parametrize("disturbed", [False, True])
def test_water_closes_over_the_year(room, disturbed):
    assert lived.year(room, disturbed=disturbed).water_error < 1e-9


def test_the_table_covers_what_it_is_meant_to_cover():
    boxes = {case.id: solved.question(case).enclosed for case in CASES}
    leaks_per_day = [
        layer.leak_m3_per_s * 86400.0 / air for box in boxes.values()
        for layer, air in zip(box.layers, box.air_m3, strict=True)
    ]  # fmt: skip
    gels_kg = [box.gel.kg for box in boxes.values() if box.gel]

    assert len(CASES) >= 24
    assert (min(leaks_per_day), max(leaks_per_day)) == pytest.approx((0.05, 30.0))
    assert (min(gels_kg), max(gels_kg)) == pytest.approx((0.002, 10.0))
    assert (min(box.air_m3[-1] for box in boxes.values()), max(box.air_m3[-1] for box in boxes.values())) == (3e-4, 0.2)
    assert min(np.min(solved.question(case).temp_c) for case in CASES) == -23.0
    assert max(np.max(solved.question(case).temp_c) for case in CASES) == 47.0


@everywhere
def test_each_year_decides_something_over_the_ceiling(case):
    over = solved.answers()[case.id].mean_pct > case.ceiling_pct

    assert 0 < over.sum() < len(over)
