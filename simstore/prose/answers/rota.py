"""A rota in words: the next session, what the weeks bring, what is late, and what no session has time for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from simstore.prose.blocks import Block, Cell, Column, Paragraph, Points, Table, num
from simstore.prose.cautions import caution_blocks, work_cautions
from simstore.prose.phrases import counted, listed, number, some_named, times_said
from simstore.scenario.returning.sheet import EXCHANGE, LOAD, UNLOAD
from simstore.study.rota.work import ORDER, ROUND, Rota, Sitting
from simstore.units import MINUTES_PER_HOUR

MOST_ROWS: Final = 12


def rota_blocks(found: Rota) -> Iterator[Block]:
    """Say what the coming weeks bring."""
    settings = found.scenario.under(found.plan).settings
    yield Paragraph(text=_next(found))
    if found.sittings:
        yield _table(found)
        more = len(found.sittings) - MOST_ROWS
        if more > 0:
            yield Paragraph(text=f"... and {counted(more, 'session')} more in sessions.csv", close=True)
    yield Points(points=[("", text) for text in (*_late(found), *_orders(found), _known(found))])
    yield Paragraph(
        text="This is how it goes if nothing fails, nobody is ill and the weather is as expected; walls leak as they "
        "are believed to. sheet.csv and rota.html are to be filled in, rota.ics is for a calendar."
    )
    steps = [step.work for sitting in found.sittings for step in sitting.steps]
    yield from caution_blocks(work_cautions(settings, heats=LOAD in steps, handles=EXCHANGE in steps))


def _next(found: Rota) -> str:
    label = found.scenario.settings.plans[found.plan].label
    span = f"{counted(found.weeks, 'week')} from {found.first.isoformat()}"
    if not found.sittings:
        return f"Plan '{found.plan}' ({label}) brings no work in the {span}."
    minutes = sum(sitting.busy_min for sitting in found.sittings)
    changes = sum(step.work == EXCHANGE for sitting in found.sittings for step in sitting.steps)
    begin = found.sittings[0]
    return (
        f"The first session is on {begin.begins:%A} {begin.begins.date().isoformat()}, {begin.begins:%H:%M}, "
        f"{begin.technician}: {_brought(begin)}. The {span} of plan '{found.plan}' ({label}) bring "
        f"{counted(changes, 'exchange')} in {counted(len(found.sittings), 'session')}, "
        f"{number(minutes / MINUTES_PER_HOUR, 1)} hours of work."
    )


def _brought(sitting: Sitting) -> str:
    count = Counter(step.work for step in sitting.steps)
    parts = [f"read {counted(step.packets, 'enclosure')}" for step in sitting.steps if step.work == ROUND]
    if count[EXCHANGE]:
        ready = listed([f"{counted(many, 'packet')} '{name}'" for name, many in sorted(sitting.ready.items())])
        parts.append(f"exchange in {counted(count[EXCHANGE], 'enclosure')} ({ready} to have ready)")
    parts += [times_said(work, count[work]) for work in (UNLOAD, LOAD) if count[work]]
    return listed(parts) or f"{sitting.busy_min} minutes of preparing"


def _table(found: Rota) -> Table:
    return Table(
        caption="Sessions",
        columns=[
            Column("Session", numeric=False, short="session"),
            Column("Who", numeric=False, short="who", most=14),
            Column("Exchanges", short="exchanges"),
            Column("To read", short="to read"),
            Column("Oven loads", short="loads"),
            Column("Work", "min", short="min"),
        ],
        rows=[
            [
                Cell(f"{one.begins:%a} {one.begins.date().isoformat()} {one.begins:%H:%M}"),
                Cell(one.technician),
                num(sum(step.work == EXCHANGE for step in one.steps), 0),
                num(sum(step.packets for step in one.steps if step.work == ROUND), 0),
                num(sum(step.work == LOAD for step in one.steps), 0),
                num(one.busy_min, 0),
            ]
            for one in found.sittings[:MOST_ROWS]
        ],
    )


def _late(found: Rota) -> list[str]:
    over = [one for one in found.limits if one.likely is not None and one.likely <= found.first and one.packet]
    bare = [one for one in found.limits if not one.packet]
    said = []
    if over:
        said.append(
            f"At their ceiling already, as far as is believed: {counted(len(over), 'enclosure')} "
            f"({some_named([one.enclosure for one in over])}). Look at these first."
        )
    if bare:
        said.append(f"Without a packet, and so never on the list: {some_named([one.enclosure for one in bare])}.")
    done = {step.subject for sitting in found.sittings for step in sitting.steps if step.work == EXCHANGE}
    end = found.sittings[-1].ends.date() if found.sittings else found.first
    missed = [
        one for one in found.limits
        if one.packet and one.likely is not None and found.first < one.likely <= end and one.enclosure not in done
    ]  # fmt: skip
    if missed:
        said.append(
            f"Come to their ceiling in these weeks and are in no session: {counted(len(missed), 'enclosure')} "
            f"({some_named([one.enclosure for one in missed])}). "
            "The plan lets them wait, or hours or packets are short."
        )
    return said or ["No enclosure is believed to be at its ceiling today, or to come to it unattended."]


def _orders(found: Rota) -> list[str]:
    sent = [(day, step) for day, step in found.orders if step.work == ORDER]
    if not sent:
        return []
    lines = [f"{counted(step.packets, 'packet')} '{step.packet}' on {day.isoformat()}" for day, step in sent]
    return [f"To order: {listed(lines)}."]


def _known(found: Rota) -> str:
    known = sum(one.leak_known for one in found.limits)
    if known == len(found.limits):
        return "Every leak is measured; due.csv has the dates that follow, and their spread."
    return (
        f"The leak of {number(known)} of {counted(len(found.limits), 'enclosure')} is measured; of the others it is "
        "taken from their kind, so that each of them may come to its ceiling much earlier or later: due.csv has a date "
        "before which 5 %, and one after which 5 % do."
    )
