"""The sheet to print: a page or more for each session, with boxes to tick and room for readings and grams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from simstore.prose.cautions import LAST_WORD, work_cautions
from simstore.report.page.templating import laying_out
from simstore.report.rota.diary import ready_said, said_of_order
from simstore.scenario.returning.sheet import EXCHANGE, LOAD, READ, UNLOAD
from simstore.study.rota.tables import further_said, read_rows
from simstore.study.rota.work import ROUND, Rota, Sitting

WORDS: Final = {READ: "read", EXCHANGE: "exchange", LOAD: "load", UNLOAD: "unload"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What stands on the pages of one session."""

    day: str
    hours: str
    technician: str
    ready: Sequence[str]
    busy: str
    rows: Sequence[dict[str, Any]]


def session_sheets(found: Rota) -> str:
    """Lay out every session as HTML that prints on A4 and on Letter."""
    settings = found.scenario.under(found.plan).settings
    steps = [step.work for sitting in found.sittings for step in sitting.steps]
    care = work_cautions(settings, heats=LOAD in steps, handles=EXCHANGE in steps)
    return (
        laying_out()
        .get_template("rota.html.j2")
        .render(
            title=settings.title,
            note=settings.note,
            plan=settings.plans[found.plan].label,
            first=found.first.isoformat(),
            weeks=found.weeks,
            sheets=[_sheet(found, sitting) for sitting in found.sittings],
            orders=[(day.isoformat(), said_of_order(step)) for day, step in found.orders],
            cautions=[(one.action, one.text) for one in care],
            last_word=LAST_WORD,
        )
    )


def _sheet(found: Rota, sitting: Sitting) -> Sheet:
    rows: list[dict[str, Any]] = []
    for step in sitting.steps:
        if step.work == ROUND:
            rows += [{**row, "work": WORDS[READ]} for row in read_rows(found, step)]
        else:
            rows.append(
                {"work": WORDS[step.work], "subject": step.subject, "place": step.place, "packet": step.packet,
                 "packets": step.packets}
            )  # fmt: skip
    for row in rows:
        row["further"] = further_said(found, row["subject"])
    return Sheet(
        day=f"{sitting.begins:%A} {sitting.begins.date().isoformat()}",
        hours=f"{sitting.begins:%H:%M} to {sitting.ends:%H:%M}",
        technician=sitting.technician,
        ready=ready_said(sitting),
        busy=f"{sitting.busy_min} min",
        rows=rows,
    )
