"""Work that takes exactly what is left of a session is done in it; with a minute less it waits."""

from datetime import date

import pytest
from features import little_store as shop

LATER = "Wed 09:00-15:00"
"""A session after the run's end, so that no task is longer than any session."""
BARE = {"gear_min": 0.0, "exchange_min": 40.0, "load_min": 20.0, "unload_min": 10.0, "prepare_min": 2.0}
SHORT = {"gear_min": 0.0, "inspect_min": 3.0, "exchange_min": 6.0, "load_min": 5.0, "unload_min": 5.0}
NO_HASTE = {"p": {"ready": 0, "spent": 4}}
FAST = shop.OVEN | {"cycle_h": 1.0, "cool_h": 0.0, "warm_up_min": 0.0}
BAG = {
    "label": "bag", "form": "bag", "volume_m3": 0.01, "packet": "p",
    "layers": [{"film": "ldpe", "thickness_um": 100.0, "area_m2": 0.3, "leak_per_day": 8.0}],
}  # fmt: skip
CASES = {
    # task: (day on which it is done, what it takes by hand [min], plan, changes)
    "exchange": (0, 40, "idle", {"stock": {"p": {"ready": 1}}}),
    "go without": (0, 40, "idle", {"plans": {"idle": {"without_packet": "go_without"}}}),
    "inspect": (0, 3, "read", {"tasks": {"inspect_min": 3.0}}),
    "load": (0, 20, "idle", {"stock": NO_HASTE, "ovens": {"o": FAST}}),
    "receive": (
        1,
        15,
        "idle",
        {"tasks": {"receive_min": 15.0}, "stock": {"p": {"reorder_point": 1, "order_quantity": 1, "lead_days": 1.0}}},
    ),
    "visit": (1, 30, "idle", {"visits": [{"metal": "iron", "visits_per_year": 2000.0, "staff_min": 30.0}]}),
    "rehouse": (
        0,
        24,
        "idle",
        {
            "kinds": {"bag": BAG},
            "rehousing": [{"starts": shop.START, "replace": {"box": "bag"}, "rehouse_min": 24.0}],
            "stock": {"p": {"ready": 1}},
            "tasks": {"exchange_min": 200.0},
        },
    ),
}


def minutes_of(task, session_min):
    """Minutes that go into the task in a session of that length, on the day when it could be done."""
    day, _, plan, changes = CASES[task]
    weekday = ("Thu", "Fri")[day]
    assert date(2026, 1, 1).strftime("%a") == "Thu"
    sessions = [f"{weekday} 09:00-{9 + session_min // 60:02d}:{session_min % 60:02d}", LATER]
    record = shop.live(
        shop.row(), plan=plan, **changes | {"days": 6, "tasks": BARE | changes.get("tasks", {})},
        technicians={"anna": {"sessions": sessions}},
    )  # fmt: skip
    booked_as = "exchange" if task == "go without" else task
    return shop.task_minutes(record, session_min=day * shop.DAY + 540)[booked_as]


@pytest.mark.parametrize("task", CASES)
def test_a_task_is_done_in_a_session_that_it_fills_and_not_in_one_a_minute_shorter(task):
    needed = CASES[task][1]

    assert minutes_of(task, needed) == needed
    assert minutes_of(task, needed - 1) == 0


@pytest.mark.parametrize(("session_min", "unloaded", "prepared"), [(18, 10, 8), (17, 10, 6), (10, 10, 0), (9, 0, 0)])
def test_packets_that_have_cooled_are_unloaded_and_prepared_to_the_last_minute(session_min, unloaded, prepared):
    record = shop.live(
        shop.row(), plan="idle", days=6, tasks=BARE, stock=NO_HASTE, ovens={"o": FAST},
        technicians={"anna": {"sessions": ["Thu 09:00-09:20", f"Fri 09:00-09:{session_min:02d}", LATER]}},
    )  # fmt: skip

    minutes = shop.task_minutes(record, session_min=shop.DAY + 540)
    assert (minutes["unload"], minutes["prepare"]) == (unloaded, prepared)


@pytest.mark.parametrize(("session_min", "read"), [(30, 10), (29, 9), (3, 1)])
def test_as_many_enclosures_are_read_as_go_into_the_session(session_min, read):
    record = shop.live(
        *[shop.row(f"A{n:02d}") for n in range(10)], plan="read", days=6, tasks=BARE | {"inspect_min": 3.0},
        technicians={"anna": {"sessions": [f"Thu 09:00-09:{session_min:02d}", LATER]}},
    )  # fmt: skip

    assert record.rounds[0].inspected == read
    assert shop.task_minutes(record, session_min=540)["inspect"] == 3 * read


@pytest.mark.parametrize(("session_min", "replaced"), [(13, 10), (12, 0)])
def test_a_box_that_a_round_finds_broken_is_replaced_if_what_is_left_of_the_session_is_enough(session_min, replaced):
    record = shop.live(
        shop.row(), plan="read", days=5, tasks=SHORT,
        kinds={"box": {"failures_per_year": 50.0, "replace_min": 10.0}},
        technicians={"anna": {"sessions": [f"Thu 09:00-09:{session_min:02d}"]}},
    )  # fmt: skip

    assert record.mishaps[0].minute < 540, "with this seed it breaks in the first night"
    assert shop.task_minutes(record, session_min=540)["inspect"] == 3
    assert shop.task_minutes(record, session_min=540)["replace"] == replaced
