"""Gel that was dried some time ago starts as wet as if it had been watched since then."""

from datetime import timedelta

import pytest
from features import little_store as shop

OPEN = {"packets": {"p": {"conductance_kg_per_s_pa": 1e-8}}}
"""A packet that is no hindrance: the start is worked out without it."""


def water_pct(record, when):
    """Water on the gel at the run's start or end, in per cent of the dry gel."""
    return 100.0 * getattr(record.ledger, f"water_{when}_kg") / record.ledger.gel_start_kg


def dried(days_ago, **row):
    return shop.row(last_regenerated=shop.START - timedelta(days=days_ago), **row)


# The start is worked out in implicit steps of five days, the run with its own step. An implicit step of h days gets h / 2T
# of the way wrong, where the gel goes by an e-fold towards the room in T days: over 250 days here, so 1 % at most.
@pytest.mark.parametrize("days_ago", [1, 4, 5, 6, 30, 33, 90])
@pytest.mark.parametrize("leak_per_day", [1.0, 6.0])
def test_gel_dried_days_ago_holds_what_as_many_days_of_the_run_bring(days_ago, leak_per_day):
    then = shop.live(dried(0, leak_per_day=leak_per_day), days=days_ago, **OPEN)
    now = shop.live(dried(days_ago, leak_per_day=leak_per_day), days=1, **OPEN)
    gained = water_pct(then, "end") - water_pct(then, "start")

    assert gained > 0.0
    assert water_pct(now, "start") - water_pct(then, "start") == pytest.approx(gained, rel=0.01)
