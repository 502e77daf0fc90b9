"""Every row of the table of outside checks, and the page made from it."""

from __future__ import annotations

import importlib.util
import math
import sys
import warnings
from pathlib import Path

import numpy as np
import pytest
from wrong_constants import FACTOR, wrong


def _load():
    path = Path(__file__).with_name("outside_checks.py")
    spec = importlib.util.spec_from_file_location("outside_checks_table", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["outside_checks_table"] = module
    spec.loader.exec_module(module)
    return module


checks = _load()
ROWS = checks.read_rows()
COMPUTES = checks.read_computes()


@pytest.fixture(scope="module")
def verdicts():
    return {}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.id)
def test_our_value_agrees_with_the_outside_one(row, verdicts):
    verdict = checks.judge(row, COMPUTES[row.id]())
    verdicts[row.id] = verdict

    if row.miss:
        assert not verdict.passes, f"{row.id} is within its bound now: take its miss away"
    else:
        assert verdict.passes, f"{row.id}: computed {verdict.computed}, expected {row.expected}"


TIGHT = 0.09
"""Rows bound by a share below this fail both ways."""


def spoiled(row, factor):
    """Judge a row with its constant wrong; arithmetic may break down."""
    with wrong(row.wrong, factor), np.errstate(all="ignore"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return checks.judge(row, COMPUTES[row.id]())


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.id)
def test_a_row_fails_with_a_wrong_constant(row, verdicts):
    if row.id not in verdicts:
        verdicts[row.id] = checks.judge(row, COMPUTES[row.id]())
    right = verdicts[row.id]

    larger, smaller = spoiled(row, FACTOR), spoiled(row, 1.0 / FACTOR)

    if row.miss:  # it fails anyhow; but it hangs on the constant
        assert larger.computed != right.computed
        return
    assert not (larger.passes and smaller.passes)
    if row.bound == "rel" and row.allowed <= TIGHT:
        assert not larger.passes
        assert not smaller.passes


def test_a_row_is_what_it_was_once_the_constant_is_right_again():
    row = next(row for row in ROWS if row.id == "air.saturation.iapws")
    before = checks.judge(row, COMPUTES[row.id]()).computed

    spoiled(row, FACTOR)

    assert checks.judge(row, COMPUTES[row.id]()).computed == before


def test_every_row_has_a_function_and_every_function_a_row():
    assert {row.id for row in ROWS} == set(COMPUTES)


def test_ids_are_not_used_twice():
    ids = [row.id for row in ROWS]

    assert len(ids) == len(set(ids))


def test_every_row_says_where_its_numbers_come_from():
    for row in ROWS:
        assert all((row.what, row.source, row.unit, row.wrong)), row.id
        assert all(map(math.isfinite, row.expected)), row.id


def test_the_committed_page_is_up_to_date(verdicts):
    for row in ROWS:
        if row.id not in verdicts:
            verdicts[row.id] = checks.judge(row, COMPUTES[row.id]())

    assert checks.PAGE.read_text(encoding="utf-8") == checks.page(ROWS, verdicts), (
        "make it again with: python tests/outside_checks.py"
    )


@pytest.mark.parametrize(
    ("bound", "allowed", "ours", "passes"),
    [
        ("rel", 0.1, 10.9, True),
        ("rel", 0.1, 11.1, False),
        ("abs", 0.5, 9.6, True),
        ("abs", 0.5, 9.4, False),
        ("factor", 2.0, 5.1, True),
        ("factor", 2.0, 4.9, False),
        ("factor", 2.0, -10.0, False),
        ("at_least", 0.0, 10.0, True),
        ("at_least", 0.0, 9.99, False),
        ("exact", 0.0, 10.0, True),
        ("exact", 0.0, 10.000001, False),
        ("abs", 0.5, math.nan, False),
    ],
)
def test_a_bound_lets_through_what_it_says_and_no_more(bound, allowed, ours, passes):
    row = checks.Row(
        id="x", what="w", source="s", expected=(10.0,), bound=bound, allowed=allowed, unit="1", kind="derived"
    )

    assert checks.judge(row, ours).passes is passes


def test_a_row_with_another_number_of_values_is_refused():
    row = checks.Row(
        id="x", what="w", source="s", expected=(1.0, 2.0), bound="rel", allowed=0.1, unit="1", kind="derived"
    )

    with pytest.raises(ValueError, match="1 values computed, 2 expected"):
        checks.judge(row, 1.0)
