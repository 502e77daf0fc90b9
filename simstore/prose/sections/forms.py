"""Box against bag: how each form of enclosure fares under the plan, and what it asks for."""

from __future__ import annotations

from collections import Counter

from simstore.money.costs import capital_recovery_factor
from simstore.prose.blocks import Block, Cell, Column, Paragraph, Section, Table, num
from simstore.prose.phrases import NBSP, begun, counted, figures, share_said
from simstore.results.pooled import of_plan
from simstore.results.reading import ResultFolder
from simstore.scenario.values.settings import Settings
from simstore.units import DAYS_PER_YEAR

FORMS = {"box": "boxes", "bag": "bags"}


def forms_section(folder: ResultFolder, plan: str) -> Section | None:
    """Set kinds of enclosure side by side, and the usual rule for gel beside what a year needs."""
    settings = folder.settings_of(plan)
    rows = of_plan(folder.tables, "enclosures", plan)
    kinds = sorted(set(rows["kind"]), key=lambda name: (settings.kinds[name].form != "box", name))
    blocks: list[Block] = []
    if len(kinds) > 1:
        table, said = _kinds(folder, plan, kinds, settings)
        blocks += [Paragraph(text=said), table]
    if "fill_rule" in folder.tables:
        blocks += _fill(folder, plan, settings)
    if not blocks:
        return None
    return Section(name="box-or-bag", title="Box against bag", blocks=blocks)


def _kinds(folder: ResultFolder, plan: str, kinds: list[str], settings: Settings) -> tuple[Table, str]:
    rows = of_plan(folder.tables, "enclosures", plan)
    years = (int(of_plan(folder.tables, "days", plan)["day"].max()) + 1) / DAYS_PER_YEAR
    rate = settings.prices.discount_pct_per_year / 100.0
    currency = settings.prices.currency
    body, a_year = [], {}
    for name in kinds:
        kind, own = settings.kinds[name], rows[rows["kind"] == name]
        count = len(own) / folder.replications
        weights = own["objects"] * own["days"]
        weighted = float((own["held_pct"] * weights).sum() / weights.sum())
        exchanges = float(own["exchanges"].sum()) / folder.replications / count / years
        minutes = kind.exchange_min if kind.exchange_min is not None else settings.tasks.exchange_min
        capital = kind.unit_price * capital_recovery_factor(rate, kind.life_years)
        a_year[name] = exchanges * minutes
        body.append(
            [
                Cell(f"{begun(kind.label)} ({kind.form})", name),
                num(count, 0),
                Cell(share_said(weighted), f"{weighted:.10g}"),
                num(100 * float((own["hours_over"] > 0).mean()), 1),
                num(exchanges, 2),
                num(exchanges * minutes, 1),
                num(kind.unit_price, 2),
                num(kind.life_years, 0),
                num(capital, 2),
            ]
        )
    table = Table(
        caption=f"Kinds of enclosure under plan “{plan}”, means of the simulated runs",
        columns=[
            Column("Kind", numeric=False),
            Column("Enclosures"),
            Column("Object-days held", "%"),
            Column("Ever over", "%"),
            Column("Exchanges", "each, a year"),
            Column("Exchange work", "min each, a year"),
            Column("Price", f"{currency} each"),
            Column("Life", "years"),
            Column("Of that a year", f"{currency} each"),
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


def _fill(folder: ResultFolder, plan: str, settings: Settings) -> list[Block]:
    """Set the rule of a third of the empty space beside what the scenario fills and what a year of leak needs."""
    rows = of_plan(folder.tables, "fill_rule", plan)
    columns = ["rule_kg", "filled_kg", "need_p50_kg", "need_p95_kg", "exchanges_per_year"]
    mean = rows.groupby(["kind", "metal"], sort=True)[columns].mean().reset_index()
    if mean.empty:
        return []
    body = [
        [
            Cell(f"{begun(settings.kinds[str(row['kind'])].label)}, {settings.metals[str(row['metal'])].label}"),
            *(num(float(row[name]), 2) for name in columns),
        ]
        for row in mean.to_dict("records")
    ]
    return [
        Paragraph(
            text="How much gel goes into one enclosure: by the common rule of a third of its empty volume, as it is "
            "filled here, and what would take up a whole year's leak without an exchange."
        ),
        Table(
            caption="Gel in one enclosure, means",
            columns=[
                Column("Kind and metal", numeric=False),
                Column("By the rule", "kg"),
                Column("As filled", "kg"),
                Column("Half need under", "kg for a year"),
                Column("95 of 100 need under", "kg for a year"),
                Column("Exchanges", "each, a year"),
            ],
            rows=body,
            sortable=True,
        ),
    ]


def counted_forms(folder: ResultFolder) -> str:
    """Say how many boxes and bags the store has, as "340 boxes and 260 bags"."""
    kinds = folder.scenario.settings.kinds
    counts: Counter[str] = Counter(kinds[enclosure.kind].form for enclosure in folder.scenario.enclosures)
    return " and ".join(counted(counts[form], form, plural) for form, plural in FORMS.items() if counts[form])
