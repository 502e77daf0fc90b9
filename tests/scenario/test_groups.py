from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from simstore.errors import SimstoreError
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.values.fields import Lognormal
from simstore.scenario.values.groups import enclosures_of
from simstore.scenario.values.housing import Group

START = date(2026, 1, 1)
IRON = Group(kind="clip_box", metal="iron", count=40, volume_m3=Lognormal(median=0.005, sigma_ln=0.4))
COPPER = Group(kind="clip_box", metal="copper", count=10, volume_m3=Lognormal(median=0.005, sigma_ln=0.4))


def test_adding_a_group_shifts_nothing_in_the_others():
    alone = enclosures_of((IRON,), seed=3, start=START)
    second = enclosures_of((COPPER, IRON), seed=3, start=START)

    assert second[10:] == alone


def test_two_groups_do_not_share_their_draws():
    iron, copper = (enclosures_of((group,), seed=3, start=START) for group in (IRON, COPPER))

    assert [row.volume_m3 for row in iron[:10]] != [row.volume_m3 for row in copper]


def test_another_seed_draws_other_volumes():
    volumes = {seed: [row.volume_m3 for row in enclosures_of((IRON,), seed=seed, start=START)] for seed in (1, 2)}

    assert volumes[1] != volumes[2]


def test_volumes_follow_the_lognormal_that_was_asked_for():
    many = IRON.model_copy(update={"count": 4000})
    logs = np.log([row.volume_m3 for row in enclosures_of((many,), seed=3, start=START)])

    # Bounds: four standard errors of mean and of standard deviation of a normal sample of 4000.
    assert logs.mean() == pytest.approx(np.log(0.005), abs=4 * 0.4 / np.sqrt(4000))
    assert logs.std() == pytest.approx(0.4, abs=4 * 0.4 / np.sqrt(8000))


def test_last_regenerations_are_spread_evenly_between_the_two_ages():
    group = Group(kind="clip_box", metal="iron", count=4, regenerated_days_ago=(0.0, 80.0))
    ages = [(START - row.last_regenerated).days for row in enclosures_of((group,), seed=1, start=START)]

    assert ages == [10, 30, 50, 70]


def test_a_plain_volume_is_that_of_all_and_none_is_that_of_the_kind():
    fixed = IRON.model_copy(update={"volume_m3": 0.007})

    assert {row.volume_m3 for row in enclosures_of((fixed,), seed=1, start=START)} == {0.007}
    assert {
        row.volume_m3 for row in enclosures_of((IRON.model_copy(update={"volume_m3": None}),), seed=1, start=START)
    } == {None}


def test_ids_begin_with_the_name_of_the_group_and_are_stable_past_a_thousand():
    named = Group(name="iron box", kind="clip_box", metal="iron", count=1001)
    ids = [row.id for row in enclosures_of((named,), seed=1, start=START)]

    assert (ids[0], ids[998], ids[1000]) == ("iron box 001", "iron box 999", "iron box 1001")


def test_an_id_that_the_register_has_too_is_refused(tmp_path):
    tiny = Path(__file__).parents[2] / "scenarios" / "tiny"
    text = (tiny / "scenario.toml").read_text(
        encoding="utf-8"
    ) + '\n[[groups]]\nname = "B"\nkind = "clip_box"\nmetal = "iron"\ncount = 2\n'
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    register = (tiny / "register.csv").read_text(encoding="utf-8").replace("B002", "B 002")
    (tmp_path / "register.csv").write_text(register, encoding="utf-8")

    with pytest.raises(SimstoreError, match=r"groups\.0: makes the id 'B 002', which the register has too"):
        load_scenario(tmp_path)
