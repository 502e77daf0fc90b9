"""Puts the page together: answers first, then what they rest on; one file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from simstore.errors import SimstoreError
from simstore.prose.phrases import MONTHS
from simstore.report.page.answer import Answer, answer, leading_plan
from simstore.report.page.balance import balance_section
from simstore.report.page.forms import counted_forms, forms_section
from simstore.report.page.limits import cautions_section, limits_section
from simstore.report.page.money import money_section
from simstore.report.page.parts import Names, Section, Text
from simstore.report.page.plans import plans_section, tradeoff_blocks
from simstore.report.page.sources import sources_section
from simstore.report.page.study import ORDER, study_section
from simstore.report.page.year import year_section
from simstore.results.budget import Budget, budget_of
from simstore.results.reading import ResultFolder
from simstore.scenario.checking.finding import suggestion

ONE_PLAN: Final = ("stress", "sensitivity")
"""Commands whose cases are one plan under different conditions, and not plans to choose from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """All that the template lays out."""

    title: str
    store: str
    note: str
    answer: Answer
    sections: Sequence[Section]
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
    templates = _templates()
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
    names = Names({"metals", "metals-caption"})
    folders = [folder, *others]
    sections = [
        plans_section(folder, plan, names) if folder.has_runs else None,
        *(
            _study(each, plan, names)
            for each in sorted(folders, key=lambda each: [*ORDER, each.command].index(each.command))
            if not each.has_runs
        ),
        year_section(folder, plan, names) if folder.has_runs else None,
        money_section(budget, names),
        forms_section(folder, plan, names) if folder.has_runs else None,
        balance_section(folder, plan, names),
        cautions_section(folder, plan, names),
        limits_section(folder, plan, names),
        sources_section(folder, names),
    ]
    first = answer(folder, plan, budget, named=named, others=others)
    enclosures = counted_forms(folder)
    return Page(
        title=f"{settings.title}: {first.headline}",
        store=f"{settings.title}: a year of dry storage in {enclosures}, from {day_said(settings.start)}",
        note=settings.note,
        answer=first,
        sections=[section for section in sections if section is not None],
        made_by=f"Made by simstore {folder.facts['versions']['simstore']} from seed {settings.seed}. The tables that "
        "this page was made from are in the folder that it came in.",
        script=script,
        script_hash=Markup("sha256-" + base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()),  # noqa: S704
    )


def _study(folder: ResultFolder, plan: str, names: Names) -> Section:
    tradeoff = [] if folder.command in ONE_PLAN else tradeoff_blocks(folder, plan, names)
    section = study_section(folder, names, tradeoff)
    own = folder.facts.get("asked", {}).get("plan")
    if folder.command not in ONE_PLAN or own == plan:
        return section
    note = f"This part is about plan “{own}” ({folder.label_of(own)}), not about the plan that leads this page."
    return replace(section, blocks=[Text(text=note), *section.blocks])


def day_said(day: date) -> str:
    """Say a date as "4 January 2027"."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("simstore.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _script(templates: Environment) -> Markup:
    """Return the page's only script; it has no data of the user's in it."""
    return Markup(templates.get_template("page.js.j2").render())  # noqa: S704
