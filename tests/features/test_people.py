"""People: sessions, holidays, leave, illness, training, limits of handling, and what is left undone."""

import math
from collections import Counter, defaultdict
from datetime import date

import numpy as np
import pytest
from features import little_store as shop

from simstore.scenario.values.work import Technician
from simstore.sim.line_up import SOURCES
from simstore.store.windows import sick_days

OVENS = {"o": shop.OVEN | {"count": 2, "cycle_h": 2.0, "cool_h": 1.0}}
STOCK = {"p": {"ready": 40}}

HANDLING = {source.task for source in SOURCES if source.handling}


def rows(count=30):
    return [shop.row(f"A{n:02d}") for n in range(count)]


def worked(record):
    """Minutes of every session, by person and its start."""
    found = defaultdict(int)
    for each in record.staff:
        found[each.technician, each.session_min] += each.minutes
    return found


def test_several_people_come_for_their_own_sessions_and_never_do_one_piece_of_work_twice():
    people = {
        "anna": {"sessions": ["Tue 09:00-12:00"]},
        "ben": {"sessions": ["Tue 09:00-12:00", "Thu 13:00-15:00"]},
        "cleo": {"sessions": ["Tue 09:00-10:30"]},
    }
    record = shop.live(*rows(), plan="work", days=90, technicians=people, ovens=OVENS, stock=STOCK)

    length = {"anna": {540: 180}, "ben": {540: 180, 780: 120}, "cleo": {540: 90}}
    for (person, start), minutes in worked(record).items():
        weekday = (date(2026, 1, 1).toordinal() + start // shop.DAY - 1) % 7
        assert weekday == (3 if start % shop.DAY == 780 else 1)
        assert minutes == length[person][start % shop.DAY]
    done = Counter((each.minute, each.enclosure) for each in record.exchanges)
    assert len(done) > 100
    assert set(done.values()) == {1}
    # Every packet is somewhere, every day: 30 in enclosures and 40 in stock.
    for day in record.stock:
        assert day.ready + day.spent + day.in_oven + day.in_enclosures == pytest.approx(70, abs=0)


def test_nobody_works_on_holidays_or_on_leave():
    record = shop.live(
        *rows(4),
        plan="work",
        days=60,
        technicians={"anna": {"leave": [[date(2026, 1, 12), date(2026, 1, 23)]]}},
        holidays=[date(2026, 1, 1), date(2026, 2, 2)],
    )

    days = {each.session_min // shop.DAY for each in record.staff}
    weekdays = {n for n in range(60) if date.fromordinal(date(2026, 1, 1).toordinal() + n).weekday() < 5}
    assert weekdays - days == {0, 32, *range(11, 16), *range(18, 23)}


# By renewal: spells of three days on average and the healthy days between them. At 120 and 250 days a year a spell more or
# less between two others is far outside the bound of 2.6 standard errors.
@pytest.mark.parametrize("stated", [12.0, 120.0, 250.0])
def test_illness_takes_the_stated_days_a_year_on_average(stated):
    settings = shop.store(shop.row()).settings
    person = Technician(sessions=("Mon 09:00-10:00",), sick_days_per_year=stated)
    years = 40
    found = [len(sick_days(settings, person, name="anna", replication=n, days=365 * years)) / years for n in range(25)]

    spread = np.std(found, ddof=1) / math.sqrt(len(found))
    assert np.mean(found) == pytest.approx(stated, abs=2.6 * spread)
    assert spread < 0.02 * max(stated, 12.5)


def test_somebody_ill_is_away_all_day_and_does_less():
    runs = [
        shop.live(*rows(4), plan="work", days=365, technicians={"anna": {"sick_days_per_year": days}})
        for days in (0.0, 40.0)
    ]

    well, ill = (len({each.session_min for each in record.staff}) for record in runs)
    assert well == 261
    assert 200 < ill < 255


def test_training_makes_every_task_take_longer_until_it_is_over():
    record = shop.live(
        *rows(),
        plan="work",
        days=90,
        stock={"p": {"ready": 200}},
        technicians={"anna": {"starts": date(2026, 1, 5), "training_weeks": 4.0, "training_pct": 60.0}},
    )

    by_minute = Counter(each.minute // shop.DAY for each in record.exchanges)
    minutes = {start // shop.DAY: n for (_, start), n in exchange_minutes(record).items()}
    assert min(minutes) == 4  # Monday 5 January
    for day, count in by_minute.items():
        # 6 minutes at 60 % of the pace are 10
        assert minutes[day] == count * (10 if day < 4 + 28 else 6)
    assert max(by_minute) >= 4 + 28


def exchange_minutes(record):
    found = Counter()
    for each in record.staff:
        if each.task == "exchange":
            found[each.technician, each.session_min] += each.minutes
    return found


def test_repetitive_handling_stops_at_its_limit_for_the_day_and_the_rest_is_carried_over():
    def first_day(limit_h):
        limit = {"anna": {"handling_limit_h_per_day": limit_h}}
        record = shop.live(*rows(), plan="work", days=10, technicians=limit, stock={"p": {"ready": 100}})
        by_day = Counter()
        for each in record.staff:
            if each.task in HANDLING:
                by_day[each.session_min // shop.DAY] += each.minutes
        return record, by_day

    record, by_day = first_day(1.0)
    assert by_day[0] == 60  # ten exchanges of six minutes
    assert max(by_day.values()) <= 60
    waits = sorted((each.minute - each.due_min) // shop.DAY for each in record.exchanges)
    assert waits == sorted([0] * 10 + [1] * 10 + [4] * 10)  # Thursday, Friday, Monday
    free, by_day = first_day(24.0)
    assert by_day[0] == 180
    assert len(free.exchanges) == len(record.exchanges) == 30


def test_gloves_and_mask_cost_their_minutes_once_a_session_with_handling():
    record = shop.live(*rows(), plan="work", days=30, stock={"p": {"ready": 200}}, tasks={"gear_min": 8.0})

    handled = {each.session_min for each in record.staff if each.task in HANDLING}
    geared = {each.session_min: each.minutes for each in record.staff if each.task == "gear"}
    assert geared == dict.fromkeys(handled, 8)


def test_what_is_left_undone_is_reported_with_when_it_became_due():
    record = shop.live(
        *rows(3),
        plan="work",
        days=60,
        technicians={"anna": {"sessions": ["Tue 09:00-09:30"]}},
        visits=[{"metal": "iron", "visits_per_year": 60.0, "staff_min": 45.0}],
    )

    undone = Counter(each.task for each in record.undone)
    assert undone["exchange"] == 3  # there is no packet to put in
    assert {each.due_min for each in record.undone if each.task == "exchange"} == {0}
    visits = sorted(each.due_min for each in record.undone if each.task == "visit")
    assert len(visits) > 3
    assert visits[0] > 0
    assert np.all(np.diff(visits) > 0)


def test_a_delivery_that_nobody_has_taken_in_is_undone_since_it_came():
    record = shop.live(
        shop.row(),
        days=60,
        technicians={"anna": {"sessions": ["Tue 09:00-09:30"]}},
        tasks={"receive_min": 45.0},
        stock={"p": {"reorder_point": 1, "order_quantity": 5, "lead_days": 10.0}},
    )

    waits = [each for each in record.undone if each.task == "receive"]
    assert [(each.subject, each.due_min) for each in waits] == [("p", 10 * shop.DAY)]


def test_a_person_who_is_away_leaves_the_work_to_the_others():
    people = {"anna": {}, "ben": {"sessions": ["Tue 09:00-17:00"]}}
    away = {"what": "person_away", "starts": date(2026, 1, 8), "days": 30.0, "name": "anna"}
    record = shop.live(*rows(), plan="work", days=60, technicians=people, incidents=[away], stock={"p": {"ready": 200}})

    spans = {
        name: {each.session_min // shop.DAY for each in record.staff if each.technician == name} for name in people
    }
    assert not spans["anna"] & set(range(7, 37))
    assert {day for day in spans["ben"] if 7 <= day < 37} == {12, 19, 26, 33}
    assert {each.technician for each in record.exchanges if 7 <= each.minute // shop.DAY < 37} == {"ben"}


def test_two_who_come_at_the_same_minute_for_one_exchange_and_one_load_make_one_of_each():
    # Both put on gloves and mask first; meanwhile neither has taken the work.
    people = {"anna": {"sessions": ["Thu 09:00-12:00"]}, "ben": {"sessions": ["Thu 09:00-12:00"]}}
    record = shop.live(
        shop.row(), plan="idle", days=7, technicians=people, stock={"p": {"ready": 1, "spent": 4}},
        ovens={"o": shop.OVEN | {"cycle_h": 1.0, "cool_h": 0.0, "warm_up_min": 0.0}},
    )  # fmt: skip

    assert [each.minute for each in record.exchanges] == [540 + 5 + 6]
    # The exchanged packet comes too late for the first load, which begins once the gloves are on.
    assert [(each.loaded_min, each.packets) for each in record.loads] == [
        (540 + 5 + 20, 4),
        (record.loads[1].loaded_min, 1),
    ]
    assert shop.task_minutes(record)["load"] == 40
    assert shop.task_minutes(record)["exchange"] == 6
