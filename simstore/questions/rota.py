"""Lays out the work of the next weeks from a plan and today's register."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.errors import SimstoreError
from simstore.questions.answer import Answer
from simstore.questions.found_plan import SearchFolder, documents_with, with_found
from simstore.questions.loaded import Source, asking
from simstore.questions.options import How, Option
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.study.rota.work import Rota


@question()
def rota(
    store: Source,
    plan: Annotated[str | None, Option(metavar="NAME", help="Plan to follow. Default: the scenario's.")] = None,
    *,
    begin: Annotated[
        str | date | None,
        Option(flags=("--from",), metavar="DATE", help="Day that the register describes. Default: the scenario's."),
    ] = None,
    weeks: Annotated[int, Option(reads=int, least=1, most=520, help="Weeks to lay out.")] = 6,
    found: SearchFolder = None,
    **how: Unpack[How],
) -> Answer[Rota]:
    """Lay out who does what in which session: lists in walking order, a sheet to fill in, a calendar file."""
    from simstore.plans.chosen import chosen_plans
    from simstore.plans.found import FOUND
    from simstore.prose.answers.rota import rota_blocks
    from simstore.report.rota.diary import diary
    from simstore.report.rota.session_sheets import session_sheets
    from simstore.study.rota.tables import tables_of
    from simstore.study.rota.work import rota_of

    asked = asking(store, how)
    whole, chosen = with_found(asked.scenario, found)
    name = chosen_plans(whole, [plan] if plan else [FOUND] if chosen else [])[0]
    first = _day(begin) if begin is not None else whole.settings.start
    work = rota_of(whole, name, first=first, weeks=weeks)
    return Answer(
        question="rota",
        scenario=whole,
        asked={"plan": name, "from": first.isoformat(), "weeks": weeks},
        found=work,
        replications=1,
        measured={name: {}},
        blocks=list(rota_blocks(work)),
        make_tables=lambda: tables_of(work),
        make_pictures=dict,
        documents=documents_with(chosen),
        files={"rota.ics": lambda: diary(work), "rota.html": lambda: session_sheets(work).encode()},
    )


def _day(text: str | date) -> date:
    if isinstance(text, date):
        return text
    try:
        return date.fromisoformat(text)
    except ValueError:
        msg = f"--from {text}: is not a date; write it as 2026-01-31"
        raise SimstoreError(msg) from None
