"""Box against bag: how each form of enclosure fares under the plan, and what it asks for."""

from __future__ import annotations

from simstore.report.page_parts import Block, Cell, Head, Names, Section, Table, Text, held_said, num
from simstore.report.phrases import NBSP, begun, counted, figures
from simstore.report.pooled import of_plan
from simstore.report.result_folder import ResultFolder
from simstore.results.costs import capital_recovery_factor
from simstore.scenario.value import Settings
from simstore.units import DAYS_PER_YEAR

FORMS = {"box": "boxes", "bag": "bags"}


def forms_section(folder: ResultFolder, plan: str, names: Names, more: list[Block]) -> Section | None:
    """Set boxes and bags side by side; None where the store has but one kind and nothing else to say.

    Parameters
    ----------
    folder : ResultFolder
    plan : str
    names : Names
    more : list of Block
        What a comparison of programmes adds.
    """
    settings = folder.settings_of(plan)
    rows = of_plan(folder.tables, "enclosures", plan)
    kinds = sorted(set(rows["kind"]), key=lambda name: (settings.kinds[name].form != "box", name))
    blocks: list[Block] = []
    if len(kinds) > 1:
        table, said = _kinds(folder, plan, kinds, settings, names)
        blocks += [Text(text=said), table]
    blocks += more
    if not blocks:
        return None
    return Section(id=names.of("box-or-bag"), title="Box against bag", blocks=blocks)


def _kinds(folder: ResultFolder, plan: str, kinds: list[str], settings: Settings, names: Names) -> tuple[Table, str]:
    rows = of_plan(folder.tables, "enclosures", plan)
    years = (int(of_plan(folder.tables, "days", plan)["day"].max()) + 1) / DAYS_PER_YEAR
    rate = settings.prices.discount_pct_per_year / 100.0
    currency = settings.prices.currency
    body, a_year = [], {}
    for name in kinds:
        kind, own = settings.kinds[name], rows[rows["kind"] == name]
        count = len(own) / folder.replications
        weighted = float((own["held_pct"] * own["objects"]).sum() / own["objects"].sum())
        exchanges = float(own["exchanges"].sum()) / folder.replications / count / years
        minutes = kind.exchange_min if kind.exchange_min is not None else settings.tasks.exchange_min
        capital = kind.unit_price * capital_recovery_factor(rate, kind.life_years)
        a_year[name] = exchanges * minutes
        body.append(
            [
                Cell(f"{begun(kind.label)} ({kind.form})", name),
                num(count, 0),
                Cell(held_said(weighted), f"{weighted:.10g}"),
                num(100 * float((own["hours_over"] > 0).mean()), 1),
                num(exchanges, 2),
                num(exchanges * minutes, 1),
                num(kind.unit_price, 2),
                num(kind.life_years, 0),
                num(capital, 2),
            ]
        )
    table = Table(
        id=names.of("kinds"),
        caption=f"Kinds of enclosure under plan “{plan}”, means of the simulated runs",
        heads=[
            Head("Kind", numeric=False),
            Head("Enclosures"),
            Head("Object-days held", "%"),
            Head("Ever over", "%"),
            Head("Exchanges", "each, a year"),
            Head("Exchange work", "min each, a year"),
            Head("Price", f"{currency} each"),
            Head("Life", "years"),
            Head("Of that a year", f"{currency} each"),
        ],
        rows=body,
        sortable=True,
    )
    most, least = max(kinds, key=lambda n: a_year[n]), min(kinds, key=lambda n: a_year[n])
    said = (
        f"{begun(settings.kinds[most].label)}: {figures(a_year[most])}{NBSP}minutes of exchanges each in a year; "
        f"{settings.kinds[least].label}: {figures(a_year[least])}. They do not hold the same objects, so this table "
        "alone does not say which would be better; a comparison of programmes of housing does."
    )
    return table, said


def counted_forms(folder: ResultFolder, plan: str) -> str:
    """Say how many boxes and bags there are, as "340 boxes and 260 bags"."""
    settings = folder.settings_of(plan)
    kinds = of_plan(folder.tables, "enclosures", plan)["kind"]
    forms = kinds.map({name: kind.form for name, kind in settings.kinds.items()})
    parts = []
    for form, plural in FORMS.items():
        count = round(int((forms == form).sum()) / folder.replications)
        if count:
            parts.append(counted(count, form, plural))
    return " and ".join(parts)
