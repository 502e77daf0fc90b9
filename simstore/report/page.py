"""Puts the page together: answers first, then what they rest on; one file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from simstore.errors import SimstoreError
from simstore.report.budget import Budget, budget_of
from simstore.report.page_answer import Answer, answer, leading_plan
from simstore.report.page_balance import balance_section
from simstore.report.page_forms import counted_forms, forms_section
from simstore.report.page_limits import cautions_section, limits_section
from simstore.report.page_money import money_section
from simstore.report.page_parts import Names, Section
from simstore.report.page_plans import plans_section
from simstore.report.page_sources import sources_section
from simstore.report.page_year import year_section
from simstore.report.phrases import MONTHS, source_line
from simstore.report.result_folder import ResultFolder
from simstore.scenario.findings import suggestion


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


def html_of(folder: ResultFolder, *, plan: str | None = None) -> str:
    """Return the page as HTML text.

    Parameters
    ----------
    folder : ResultFolder
    plan : str, optional
        Plan that the report is about; the cheapest that holds by default.
    """
    name = chosen_plan(folder, plan)
    templates = _templates()
    page = page_of(folder, name, budget_of(folder, name), named=plan is not None, script=_script(templates))
    return templates.get_template("page.html.j2").render(page=page)


def page_of(folder: ResultFolder, plan: str, budget: Budget, *, named: bool, script: Markup) -> Page:
    """Gather answers and sections for ``plan``; a section appears when its tables exist."""
    settings = folder.scenario.settings
    names = Names({"metals", "metals-caption"})
    source = source_line(settings.title, settings.note, replications=folder.replications)
    sections = [
        plans_section(folder, plan, names, source),
        year_section(folder, plan, names),
        money_section(budget, names),
        forms_section(folder, plan, names, []),
        balance_section(folder, plan, names),
        cautions_section(folder, plan, names),
        limits_section(folder, names),
        sources_section(folder, names),
    ]
    first = answer(folder, plan, budget, named=named)
    enclosures = counted_forms(folder, plan)
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
