"""Puts the page together: answers first, then what they rest on; one file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from jinja2 import Environment
from markupsafe import Markup

from simstore.errors import SimstoreError
from simstore.prose.phrases import MONTHS
from simstore.prose.sections.bill import money_section
from simstore.prose.sections.books import balance_section
from simstore.prose.sections.first_screen import FirstScreen, first_screen
from simstore.prose.sections.forms import counted_forms, forms_section
from simstore.prose.sections.limits import cautions_section, limits_section
from simstore.prose.sections.side_by_side import plans_section
from simstore.prose.sections.sources import sources_section
from simstore.prose.sections.study import ONE_PLAN, ORDER, study_section
from simstore.prose.sections.year import year_section
from simstore.report.charts.answers import plans_picture
from simstore.report.charts.save import year_pictures
from simstore.report.page.placing import PlacedSection, PlacedTable, Placing
from simstore.report.page.templating import laying_out
from simstore.results.budget import Budget, budget_of
from simstore.results.leading import leading_plan
from simstore.results.reading import ResultFolder
from simstore.scenario.checking.finding import suggestion


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """All that the template lays out."""

    title: str
    store: str
    note: str
    answer: FirstScreen
    metals: PlacedTable
    sections: Sequence[PlacedSection]
    made_by: str
    script: Markup
    script_hash: Markup


def chosen_plan(folder: ResultFolder, wanted: str | None) -> str:
    """Return the plan that the report is about.

    Raises
    ------
    SimstoreError
        If ``wanted`` was not simulated.
    """
    if wanted is None:
        return leading_plan(folder)
    if wanted not in folder.plans:
        hint = suggestion(wanted, folder.plans, known_as="plans that were simulated")
        msg = f"{folder.path}: has no plan '{wanted}'; {hint}"
        raise SimstoreError(msg)
    return wanted


def html_of(folder: ResultFolder, *, plan: str | None = None, others: Sequence[ResultFolder] = ()) -> str:
    """Return the page as HTML text.

    Parameters
    ----------
    folder : ResultFolder
    plan : str, optional
        Plan that the report is about; the cheapest that holds by default.
    others : sequence of ResultFolder
        Studies of the same scenario that are added.
    """
    name = chosen_plan(folder, plan)
    templates = laying_out()
    script = _script(templates)
    budget = budget_of(folder, name)
    page = page_of(folder, name, budget, named=plan is not None, script=script, others=others)
    return templates.get_template("page.html.j2").render(page=page)


def page_of(
    folder: ResultFolder,
    plan: str,
    budget: Budget,
    *,
    named: bool,
    script: Markup,
    others: Sequence[ResultFolder] = (),
) -> Page:
    """Gather answers and sections for ``plan``; a section appears when its tables exist."""
    settings = folder.scenario.settings
    first = first_screen(folder, plan, budget, named=named, others=others)
    placing = Placing()
    studies = sorted(
        (each for each in (folder, *others) if not each.has_runs),
        key=lambda each: [*ORDER, each.command].index(each.command),
    )
    placed = [
        _plans(folder, plan, placing) if folder.has_runs else None,
        *(_study(each, plan, placing) for each in studies),
        _year(folder, plan, placing) if folder.has_runs else None,
        *(
            placing.section(section, folder)
            for section in (
                money_section(budget),
                forms_section(folder, plan) if folder.has_runs else None,
                balance_section(folder, plan),
                cautions_section(folder, plan),
                limits_section(folder, plan),
                sources_section(folder),
            )
            if section is not None
        ),
    ]
    return Page(
        title=f"{settings.title}: {first.headline}",
        store=f"{settings.title}: a year of dry storage in {counted_forms(folder)}, from {day_said(settings.start)}",
        note=settings.note,
        answer=first,
        metals=placing.table(first.metals),
        sections=[section for section in placed if section is not None],
        made_by=f"Made by simstore {folder.facts['versions']['simstore']} from seed {settings.seed}. The tables that "
        "this page was made from are in the folder that it came in.",
        script=script,
        script_hash=Markup("sha256-" + base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()),  # noqa: S704
    )


def _plans(folder: ResultFolder, plan: str, placing: Placing) -> PlacedSection | None:
    section = plans_section(folder, plan)
    return None if section is None else placing.section(section, folder, {"tradeoff": plans_picture(folder, plan)})


def _study(folder: ResultFolder, plan: str, placing: Placing) -> PlacedSection:
    several = len(folder.plans) > 1 and folder.command not in ONE_PLAN
    drawn = {"tradeoff": plans_picture(folder, plan)} if several else {}
    return placing.section(study_section(folder, plan), folder, drawn)


def _year(folder: ResultFolder, plan: str, placing: Placing) -> PlacedSection:
    pictures = year_pictures(folder.tables, folder.settings_of(plan), plan=plan)
    return placing.section(year_section(folder, plan), folder, {picture.name: picture for picture in pictures})


def day_said(day: date) -> str:
    """Say a date as "4 January 2027"."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _script(templates: Environment) -> Markup:
    """Return the page's only script; it has no data of the user's in it."""
    return Markup(templates.get_template("page.js.j2").render())  # noqa: S704
