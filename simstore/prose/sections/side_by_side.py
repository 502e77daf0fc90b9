"""Plans side by side: a chart of cost against held share in which a reader can point at each plan, and a table."""

from __future__ import annotations

from collections.abc import Sequence

from simstore.prose.blocks import Block, Cell, Chart, Column, Mark, Paragraph, Section, Table, num
from simstore.prose.phrases import NBSP, figures, money_said, number, share_said
from simstore.prose.sections.first_screen import SAID, TONES
from simstore.results.leading import PlanRow, leading_plan, plan_rows, tightest_metal, verdicts
from simstore.results.reading import ResultFolder


def plans_section(folder: ResultFolder, lead: str) -> Section | None:
    """Lay out all plans of a folder of runs; None for a single one."""
    blocks = plans_side_by_side(folder, lead)
    return Section(name="trade-offs", title="What each plan costs and holds", blocks=blocks) if blocks else None


def plans_side_by_side(folder: ResultFolder, lead: str) -> list[Block]:
    """Lay out plans by cost and held share, as a chart whose plans can be pointed at, and as a table.

    Parameters
    ----------
    folder : ResultFolder
    lead : str
        Plan of the report; where the folder does not have it, the cheapest that holds is marked instead.

    Returns
    -------
    list of Block
        Empty if there is only one plan.
    """
    if len(folder.plans) < 2:
        return []
    metal = tightest_metal(folder)
    settings = folder.scenario.settings
    rows = plan_rows(folder, lead)
    best = lead if lead in folder.plans else leading_plan(folder)
    return [
        Paragraph(
            text=f"Upward is drier, leftward is cheaper; the held share is that of {settings.metals[metal].label}, "
            "which decides."
        ),
        Paragraph(text="Point at a plan, or reach it with the Tab key, to read its figures.", only="screen"),
        Chart(
            picture="tradeoff",
            data=_data(rows, metal, settings.prices.currency),
            marks=[_mark(row, metal, settings.prices.currency) for row in rows],
        ),
        _table(rows, best, folder),
    ]


def _mark(row: PlanRow, metal: str, currency: str) -> Mark:
    return Mark(
        x=row.cost.mean,
        y=row.held.mean,
        target=f"plan-{row.name}",
        name=row.label,
        facts=[
            f"{SAID[row.verdict]}; {metal} held {share_said(row.held.mean)}",
            f"{money_said(row.cost.mean, currency)} a year",
            f"{number(row.hours)}{NBSP}h and {number(row.exchanges)} exchanges a year",
        ],
    )


def _data(rows: Sequence[PlanRow], metal: str, currency: str) -> Table:
    return Table(
        caption="Data of the chart",
        columns=[Column("Plan", numeric=False), Column("Cost", f"{currency} a year"), Column(f"Held, {metal}", "%")],
        rows=[[Cell(row.label), num(row.cost.mean, 0), Cell(share_said(row.held.mean))] for row in rows],
    )


def _table(rows: Sequence[PlanRow], best: str, folder: ResultFolder) -> Table:
    settings = folder.scenario.settings
    metals = list(verdicts(folder, folder.plans[0]))
    columns = [Column("Plan", numeric=False), Column("So", numeric=False)]
    columns += [
        Column(f"{metal} held", f"≥{NBSP}{figures(settings.metals[metal].standard_pct, 4)}{NBSP}%") for metal in metals
    ]
    columns += [Column("Years met", "%"), Column("Cost", f"{settings.prices.currency} a year")]
    columns += [Column("Hours", "a year"), Column("Exchanges", "a year"), Column("Gel bought", "kg a year")]
    body = []
    for row in rows:
        held = [folder.summary[row.name][f"held_pct.{metal}"].estimate.mean for metal in metals]
        mark = " (marked)" if row.name == best else ""
        named = row.label if row.label == row.name else f"{row.name}: {row.label}"
        body.append(
            [
                Cell(f"{named}{mark}", row.name),
                Cell(SAID[row.verdict], tone=TONES[row.verdict]),
                *(Cell(share_said(share), f"{share:.10g}") for share in held),
                num(100 * row.years_met, 0),
                num(row.cost.mean, 0),
                num(row.hours, 0),
                num(row.exchanges, 0),
                num(row.gel_kg, 1),
            ]
        )
    return Table(
        name="plans",
        caption="Every plan that was simulated",
        columns=columns,
        rows=body,
        sortable=True,
        row_names=[f"plan-{row.name}" for row in rows],
    )
