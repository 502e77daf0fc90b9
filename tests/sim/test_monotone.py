"""More of what keeps metals dry never makes them wetter: laws over small generated stores without luck.

Two laws have an exception, and the tests name it. With more hours, or with another oven, exchanges come earlier, and an
earlier exchange is no better for an enclosure whose gel would have lasted: it meets the damp season with older gel
later, because its next date is counted from the last one. So they hold for stores that are short of time or ovens, where
whatever is done earlier is done before the ceiling is reached, and there they are tested.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sim import stores

from simstore.scenario.values.housing import Enclosure
from simstore.sim.run import simulate

DAYS = 60
FEW = settings(max_examples=8, deadline=None, derandomize=True)
TEXT = """
[climate]
temp_noise_c = 0.0
rh_noise_pct = 0.0

[technicians.anna]
sessions = ["Tue 09:00-10:30"]

[ovens.small]
trays = 1
tray_area_m2 = 0.06
least_load_pct = 50.0

[stock.small]
ready = 2

[plans.weekly]
label = "every four weeks"
rule = "calendar"
cadence_weeks = 4
"""


@st.composite
def rows(draw):
    """A few boxes and bags of iron, leaky enough that two months matter."""
    count = draw(st.integers(3, 7))
    return tuple(
        Enclosure(
            id=f"E{n}",
            kind=draw(st.sampled_from(["box", "triple_bag"])),
            metal="iron",
            packet="small",
            packets=1,
            leak_per_day=draw(st.floats(1.0, 25.0)),
            gel_water_pct=draw(st.floats(2.0, 12.0)),
            last_regenerated=date(2026, 1, 1) - timedelta(days=draw(st.integers(0, 40))),
        )
        for n in range(count)
    )


def held(enclosures, changes=None, plan="idle"):
    """Days held of each enclosure, and the excess in %RH days."""
    record = simulate(stores.store(TEXT, enclosures, {"days": DAYS, **(changes or {})}), plan)
    return record.enclosures.held_days, record.enclosures.excess_pct_days


def assert_no_worse(better, worse):
    assert (better[0] >= worse[0]).all()
    assert (better[1] <= worse[1] + 1e-3 * DAYS).all()  # the stepper's error, 0.05 %RH at worst, far less on average


def dated(enclosures):
    """Nothing falls due in the run: what is tested is the enclosure alone."""
    return tuple(e.model_copy(update={"last_regenerated": date(2026, 1, 1)}) for e in enclosures)


@given(enclosures=rows())
@FEW
def test_more_gel_never_holds_fewer_days(enclosures):
    more = tuple(e.model_copy(update={"packets": 2}) for e in enclosures)

    assert_no_worse(held(dated(more)), held(dated(enclosures)))


@given(enclosures=rows(), share=st.floats(0.2, 0.95))
@FEW
def test_tighter_walls_never_hold_fewer_days_of_gel_that_is_drier_than_the_room(enclosures, share):
    tighter = tuple(e.model_copy(update={"leak_per_day": e.leak_per_day * share}) for e in enclosures)

    assert_no_worse(held(dated(tighter)), held(dated(enclosures)))


@given(enclosures=rows(), drier_pct=st.floats(1.0, 25.0))
@FEW
def test_a_drier_room_never_holds_fewer_days(enclosures, drier_pct):
    assert_no_worse(held(dated(enclosures), {"climate.shift_rh_pct": -drier_pct}), held(dated(enclosures)))


@given(enclosures=rows(), minutes=st.sampled_from(["11:00", "12:00", "13:30"]))
@FEW
def test_longer_hours_never_hold_fewer_object_days_where_work_is_left_undone(enclosures, minutes):
    overdue = tuple(e.model_copy(update={"last_regenerated": date(2025, 11, 1)}) for e in enclosures)
    short, long = stores.store(TEXT, overdue, {"days": DAYS}), stores.store(TEXT, overdue, {"days": DAYS})
    people = dict(long.settings.technicians)
    people["anna"] = people["anna"].model_copy(update={"sessions": (f"Tue 09:00-{minutes}",)})
    long = stores.replace(long, settings=long.settings.model_copy(update={"technicians": people}))

    few, many = simulate(short, "weekly"), simulate(long, "weekly")

    assert many.enclosures.exchanges.sum() >= few.enclosures.exchanges.sum()
    assert many.enclosures.held_days.sum() >= few.enclosures.held_days.sum()


@given(enclosures=rows())
@FEW
def test_another_oven_never_holds_fewer_object_days_where_packets_are_short(enclosures):
    overdue = tuple(e.model_copy(update={"last_regenerated": date(2025, 11, 1)}) for e in enclosures)

    one = held(overdue, {"stock.small.ready": 2}, "weekly")
    two = held(overdue, {"stock.small.ready": 2, "ovens.small.count": 2}, "weekly")

    assert two[0].sum() >= one[0].sum()


def test_an_earlier_exchange_can_be_worse_which_is_why_the_laws_of_hours_and_ovens_have_conditions():
    # One leaky box; every eight weeks. Due on day 0 it is exchanged on the first Tuesday, day 5, and its gel is spent
    # on day 58, before the next exchange. Due on day 20 it is exchanged on day 26, which lasts to the end of the run.
    box = Enclosure(
        id="leaky", kind="box", metal="iron", packet="small", packets=1, leak_per_day=30.0, gel_water_pct=2.0,
        last_regenerated=date(2025, 11, 6),
    )  # fmt: skip
    eight = {"plans.weekly.cadence_weeks": 8.0, "stock.small.ready": 4}
    late_row = box.model_copy(update={"last_regenerated": date(2025, 11, 26)})

    early, late = held((box,), eight, "weekly"), held((late_row,), eight, "weekly")

    assert late[0].tolist() == [60]
    assert early[0].tolist() == [58]


@pytest.mark.parametrize("law", ["gel", "walls", "room"])
def test_the_laws_are_not_empty(law):
    # In a store that is over its ceiling for part of the time each of them must change the days held.
    enclosures = (
        Enclosure(id="a", kind="box", metal="iron", packet="small", packets=1, leak_per_day=20.0, gel_water_pct=5.0,
                  last_regenerated=date(2026, 1, 1)),
    )  # fmt: skip
    before = held(enclosures)[0].sum()
    after = {
        "gel": lambda: held((enclosures[0].model_copy(update={"packets": 2}),)),
        "walls": lambda: held((enclosures[0].model_copy(update={"leak_per_day": 5.0}),)),
        "room": lambda: held(enclosures, {"climate.shift_rh_pct": -20.0}),
    }[law]()[0].sum()

    assert before < DAYS
    assert after > before
