"""The first days of all whole-year cases by the plain Python of the step: the same numbers as compiled."""

from __future__ import annotations

import numpy as np
import pytest
from physics.uncompiled import uncompiled
from years import store

from simstore.sim import inside
from simstore.sim.opening import open_site

pytest.importorskip("pvlib")
DAYS = 4
ROOMS = sorted({case.room for case in store.cases()})


@pytest.mark.parametrize("room", ROOMS)
def test_without_the_compiler_the_same_days_are_lived_through(room, monkeypatch):
    scenario = store.scenario(room)
    fast, plain = (open_site(scenario, "idle", 0).inside for _ in range(2))

    fast.advance_to(24 * DAYS)
    with uncompiled("simstore.physics.advance") as module:
        monkeypatch.setattr(inside, "advance", module.advance)
        plain.advance_to(24 * DAYS)

    assert not hasattr(module.advance, "py_func")
    assert np.array_equal(plain.counted_days, fast.counted_days)
    assert np.array_equal(plain.hours_over, fast.hours_over)
    everybody = range(len(plain.ceiling_pct))
    assert [plain.rh_pct(i) for i in everybody] == pytest.approx([fast.rh_pct(i) for i in everybody], rel=1e-9)
    assert [plain.gel_water_kg(i) for i in everybody] == pytest.approx(
        [fast.gel_water_kg(i) for i in everybody], rel=1e-9
    )
    assert plain.day_mean_pct == pytest.approx(fast.day_mean_pct, rel=1e-6, nan_ok=True)
