"""The work of the next weeks: it is the plan's, in sessions that exist, and its files say what the tables say."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from reference_pages import STUDY_TABLES

from simstore.errors import SimstoreError
from simstore.questions.store import load
from simstore.report.rota.diary import diary
from simstore.report.rota.session_sheets import session_sheets
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.returning.sheet import EXCHANGE, LOAD, SHEET, UNLOAD
from simstore.study.rota.due_dates import limits_of
from simstore.study.rota.tables import tables_of
from simstore.study.rota.work import ROUND, rota_of

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
FIRST = date(2026, 1, 1)


@pytest.fixture(scope="module")
def tiny():
    return load_scenario(TINY)


@pytest.fixture(scope="module")
def by_date(tiny):
    return rota_of(tiny, "quarterly", first=FIRST, weeks=26)


def test_every_step_lies_in_a_session_of_the_week(tiny, by_date):
    weekly = {("Tue", "09:00", "12:30"), ("Thu", "13:00", "16:30")}  # as scenario.toml says
    for sitting in by_date.sittings:
        assert (f"{sitting.begins:%a}", f"{sitting.begins:%H:%M}", f"{sitting.ends:%H:%M}") in weekly
        assert sitting.busy_min <= (sitting.ends - sitting.begins).total_seconds() / 60


def test_a_plan_by_date_changes_each_enclosure_once_in_its_cadence(tiny, by_date):
    done = {each.id: [] for each in tiny.enclosures}
    for sitting in by_date.sittings:
        for step in sitting.steps:
            if step.work == EXCHANGE:
                done[step.subject].append(sitting.begins.date())
    for name, days in done.items():
        assert days, name
        assert all(later - earlier >= timedelta(weeks=13) for earlier, later in pairwise(days))


def test_steps_go_along_the_shelves_between_the_oven_and_the_oven(by_date):
    order = {UNLOAD: 0, ROUND: 1, EXCHANGE: 2, LOAD: 3}
    for sitting in by_date.sittings:
        walked = [(order[step.work], step.place, step.subject) for step in sitting.steps]
        assert walked == sorted(walked)


def test_packets_to_have_ready_are_those_that_are_put_in(by_date):
    for sitting in by_date.sittings:
        wanted = sum(step.packets for step in sitting.steps if step.work == EXCHANGE)
        assert sum(sitting.ready.values()) == wanted


def test_a_round_is_read_enclosure_by_enclosure(tiny):
    rota = rota_of(tiny, "strip", first=FIRST, weeks=5)
    sheet = tables_of(rota)["sheet"]
    assert list(sheet.columns) == list(SHEET)
    first_tour = sheet[(sheet["work"] == "read") & (sheet["date"] == sheet.loc[sheet["work"] == "read", "date"].min())]
    assert sorted(first_tour["subject"]) == sorted(each.id for each in tiny.enclosures)


def test_twice_the_leak_halves_the_time_to_the_ceiling(tiny):
    """Water comes in proportion to the leak, where the wall is the whole resistance (design of the first-order model)."""
    one = tiny.enclosures[0].model_copy(update={"leak_per_day": 1.0, "last_regenerated": FIRST, "gel_water_pct": None})

    # a whole number of years of weather, so that both see the same mean
    def days(leak):
        only = replace(tiny, enclosures=(one.model_copy(update={"leak_per_day": leak}),))
        (limit,) = limits_of(only, "quarterly", first=FIRST)
        assert limit.leak_known
        return (limit.likely - FIRST).days

    slow, fast = days(2.0), days(4.0)
    assert slow / fast == pytest.approx(2.0, rel=0.2)  # the seasons differ
    assert slow > fast


def test_an_unmeasured_leak_spreads_the_date_more_than_a_measured_one(tiny):
    limits = {one.enclosure: one for one in limits_of(tiny, "quarterly", first=FIRST)}
    known = [one for one in limits.values() if one.leak_known]
    assert [one.enclosure for one in known] == [e.id for e in tiny.enclosures if e.leak_per_day is not None]
    for one in limits.values():
        dates = [day or date.max for day in (one.earliest, one.likely, one.latest)]
        assert dates == sorted(dates)


def test_a_register_of_a_later_day_is_refused(tiny):
    newest = max(each.last_regenerated for each in tiny.enclosures if each.last_regenerated)
    with pytest.raises(SimstoreError, match="take the register of that day"):
        rota_of(tiny, "quarterly", first=newest - timedelta(days=1), weeks=1)
    with pytest.raises(SimstoreError, match="write it as 2026-01-31"):
        load(tiny_store := TINY).rota("quarterly", begin="1/2/2026")
    assert tiny_store == TINY


def events_of(text: bytes) -> list[dict[str, str]]:
    """Read an iCalendar file by the rules of RFC 5545 alone: unfold lines, split at the first colon."""
    assert text.endswith(b"\r\n")
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    lines = text.decode().replace("\r\n ", "").split("\r\n")
    events, own = [], None
    for line in lines:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            own = {}
        elif line == "END:VEVENT":
            events.append(own)
            own = None
        elif own is not None:
            unescaped = value.replace("\\n", "\n").replace("\\,", ",").replace("\\;", ";").replace("\\\\", "\\")
            own[name.split(";")[0]] = unescaped
    return events


def test_the_calendar_file_holds_every_session_and_order(by_date):
    events = events_of(diary(by_date))
    assert len({event["UID"] for event in events}) == len(events) == len(by_date.sittings) + len(by_date.orders)
    timed = [event for event in events if "T" in event["DTSTART"]]
    for event, sitting in zip(timed, by_date.sittings, strict=True):
        assert datetime.strptime(event["DTSTART"], "%Y%m%dT%H%M%S") == sitting.begins
        assert datetime.strptime(event["DTEND"], "%Y%m%dT%H%M%S") == sitting.ends
        for step in sitting.steps:
            assert step.subject in event["DESCRIPTION"]


def test_the_printed_sheet_names_every_step_once(tiny, by_date):
    page = session_sheets(by_date)
    steps = [step for sitting in by_date.sittings for step in sitting.steps]
    assert page.count('<td class="tick">☐</td>') == len(steps) + len(by_date.orders)
    assert all(step.subject in page for step in steps)
    assert "Cobalt" not in page  # no gel with it in this store


def test_the_answer_writes_its_files(tmp_path):
    answer = load(TINY).rota("by_metal", begin="2026-01-05", weeks=3)
    folder = answer.save(tmp_path / "weeks")
    assert {"rota.ics", "rota.html", "sheet.csv", "work.csv", "sessions.csv", "due.csv"} <= {
        path.name for path in folder.iterdir()
    }
    assert "Cautions" in answer.words
    assert set(answer.tables) == {name for command, name, _ in STUDY_TABLES if command == "rota"}
    again = load(TINY).rota("by_metal", begin=date(2026, 1, 5), weeks=3).save(tmp_path / "again")
    for path in folder.iterdir():
        assert path.read_bytes() == (again / path.name).read_bytes(), path.name
