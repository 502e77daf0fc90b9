"""The sessions of a rota as an iCalendar file, for any calendar program."""

from __future__ import annotations

import hashlib
from collections import Counter
from datetime import UTC, datetime, time, timedelta

from simstore.prose.phrases import counted, listed, times_said
from simstore.prose.terminal import plain
from simstore.scenario.returning.sheet import EXCHANGE, LOAD, UNLOAD
from simstore.study.rota.work import ORDER, ROUND, Rota, Sitting, Step


def diary(found: Rota) -> bytes:
    """Write one event a session and one all-day event an order or delivery.

    Times are those of the clock on the wall, without a zone, so that nine o'clock stays nine o'clock.

    References
    ----------
    .. [1] RFC 5545, "Internet Calendaring and Scheduling Core Object Specification (iCalendar)", 2009.
    """
    from icalendar import Calendar, Event

    book = Calendar()
    book.add("prodid", "-//simstore//rota//EN")
    book.add("version", "2.0")
    stamp = datetime.combine(found.first, time(), tzinfo=UTC)
    title = found.scenario.settings.title

    def event(uid: str, summary: str, description: str) -> Event:
        one = Event()
        one.add("uid", f"{hashlib.sha256(f'{title}|{found.plan}|{uid}'.encode()).hexdigest()[:24]}@simstore")
        one.add("dtstamp", stamp)
        one.add("summary", summary)
        one.add("description", description)
        return one

    for sitting in found.sittings:
        one = event(f"{sitting.begins}|{sitting.technician}", said_of_session(sitting), "\n".join(_lines(sitting)))
        one.add("dtstart", sitting.begins)
        one.add("dtend", sitting.ends)
        book.add_component(one)
    for day, step in found.orders:
        one = event(f"{day}|{step.work}|{step.packet}", said_of_order(step), title)
        one.add("dtstart", day)
        one.add("dtend", day + timedelta(days=1))
        book.add_component(one)
    return bytes(book.to_ical())


def said_of_session(sitting: Sitting) -> str:
    """Say in one line what a session brings."""
    count = Counter(step.work for step in sitting.steps)
    parts = [f"{step.subject} ({step.packets} to read)" for step in sitting.steps if step.work == ROUND]
    if count[EXCHANGE]:
        parts.append(f"exchange in {counted(count[EXCHANGE], 'enclosure')}")
    parts += [times_said(work, count[work]) for work in (UNLOAD, LOAD) if count[work]]
    parts += [f"{task} {minutes} min" for task, minutes in sitting.minutes.items() if not sitting.steps]
    return plain(f"{sitting.technician}: {listed(parts)}")


def said_of_order(step: Step) -> str:
    """Say in one line what is ordered or comes."""
    what = "Order" if step.work == ORDER else "Expect"
    return plain(f"{what} {counted(step.packets, 'packet')} '{step.packet}'")


def ready_said(sitting: Sitting) -> list[str]:
    """Say how many packets of each sort a session needs."""
    return [f"{count} x {name}" for name, count in sorted(sitting.ready.items())]


def _lines(sitting: Sitting) -> list[str]:
    lines = [f"Have ready: {', '.join(ready_said(sitting))}"] if sitting.ready else []
    for step in sitting.steps:
        where = f" ({step.place})" if step.place else ""
        many = f", {counted(step.packets, 'packet')}" if step.work != ROUND else ""
        lines.append(plain(f"{step.work} {step.subject}{where}{many}"))
    return lines
