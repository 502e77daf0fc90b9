"""Plans side by side: a table, and a chart of cost against held share in which a reader can point at each plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from simstore.prose.phrases import NBSP, figures, number, source_line
from simstore.report.charts.picture import place_pct
from simstore.report.page.answer import ON_AVERAGE, SAID, TONES, leading_plan, verdict_of_all, verdicts
from simstore.report.page.figures import figure
from simstore.report.page.parts import Block, Cell, Head, Mark, Names, Section, Table, Text, held_said, money, num
from simstore.results.judged import MET
from simstore.results.reading import ResultFolder

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.charts.picture import Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """One plan as it stands in the table and in the chart."""

    name: str
    label: str
    verdict: str
    held_pct: float
    cost: float
    hours: float
    exchanges: float
    years_met: float
    row_id: str


def tightest_metal(folder: ResultFolder) -> str:
    """Metal class with the least margin above its standard over all plans; the one that decides."""
    margins: dict[str, float] = {}
    for plan in folder.plans:
        settings = folder.settings_of(plan)
        for metal in verdicts(folder, plan):
            held = folder.summary[plan][f"held_pct.{metal}"].estimate.mean
            margin = held - settings.metals[metal].standard_pct
            margins[metal] = min(margin, margins.get(metal, margin))
    return min(margins, key=lambda metal: (margins[metal], metal))


def plans_section(folder: ResultFolder, lead: str, names: Names) -> Section | None:
    """Lay out all plans of a folder of runs; None for a single one."""
    blocks = tradeoff_blocks(folder, lead, names)
    return Section(id=names.of("trade-offs"), title="What each plan costs and holds", blocks=blocks) if blocks else None


def tradeoff_blocks(folder: ResultFolder, lead: str, names: Names) -> list[Block]:
    """Lay out plans by cost and held share, as a chart whose plans can be pointed at, and as a table.

    Parameters
    ----------
    folder : ResultFolder
    lead : str
        Plan of the report; where the folder does not have it, the cheapest that holds is marked instead.
    names : Names

    Returns
    -------
    list of Block
        Empty if there is only one plan.
    """
    if len(folder.plans) < 2:
        return []
    metal = tightest_metal(folder)
    settings = folder.scenario.settings
    rows = [_row(folder, plan, metal, names) for plan in folder.plans]
    best = lead if lead in folder.plans else leading_plan(folder)
    source = source_line(settings.title, settings.note, replications=folder.replications)
    picture, points = _picture(folder, rows, best, metal, source, own=lead in folder.plans)
    marks = marks_of(picture, points, rows, settings.prices.currency, metal)
    return [
        Text(
            text=f"Upward is drier, leftward is cheaper; the held share is that of {settings.metals[metal].label}, "
            "which decides."
        ),
        Text(text="Point at a plan, or reach it with the Tab key, to read its figures.", on_screen_only=True),
        figure(picture, names, data=_data(rows, metal, settings.prices.currency, names), marks=marks),
        _table(rows, best, folder, names),
    ]


def _row(folder: ResultFolder, plan: str, metal: str, names: Names) -> PlanRow:
    summary = folder.summary[plan]
    return PlanRow(
        name=plan,
        label=folder.label_of(plan).removeprefix(f"{plan}: "),
        verdict=verdict_of_all(folder, plan),
        held_pct=summary[f"held_pct.{metal}"].estimate.mean,
        cost=summary["annual_equivalent_cost"].estimate.mean,
        hours=summary["staff_h"].estimate.mean,
        exchanges=summary["exchanges"].estimate.mean,
        years_met=summary["years_met"].estimate.mean,
        row_id=names.of(f"plan-{plan}"),
    )


def _picture(
    folder: ResultFolder, rows: Sequence[PlanRow], lead: str, metal: str, source: str, *, own: bool
) -> tuple[Picture, pd.DataFrame]:
    import pandas as pd

    from simstore.report.charts.trade_off import tradeoff

    settings = folder.scenario.settings
    points = []
    for row in rows:
        cost, held = (
            folder.summary[row.name][name].estimate for name in ("annual_equivalent_cost", f"held_pct.{metal}")
        )
        beaten = any(
            other.cost <= row.cost and other.held_pct >= row.held_pct and other.name != row.name for other in rows
        )
        holds = row.verdict in (MET, ON_AVERAGE)
        role = "chosen" if row.name == lead and holds else "today" if row.name == settings.default_plan else ""
        points.append((row.label, *_ends(*cost), *_ends(held.mean, held.low, min(100.0, held.high)), not beaten, role))
    columns = ["label", "cost_mean", "cost_low", "cost_high", "held_mean", "held_low", "held_high", "on_front", "role"]
    table = pd.DataFrame(points, columns=columns)
    picture = tradeoff(
        table,
        standard_pct=settings.metals[metal].standard_pct,
        currency=settings.prices.currency,
        what=settings.metals[metal].label,
        source=source,
        marked="chosen" if own else "cheapest",
    )
    return picture, table


def _ends(mean: float, low: float, high: float) -> tuple[float, float, float]:
    """Interval with the mean in place of ends that the replications cannot tell."""
    return mean, low if low == low else mean, high if high == high else mean


def marks_of(picture: Picture, points: pd.DataFrame, rows: Sequence[PlanRow], currency: str, metal: str) -> list[Mark]:
    """Find where each plan stands in the picture, in % of its width and height from the upper left."""
    marks = []
    for row, cost, held in zip(rows, points["cost_mean"], points["held_mean"], strict=True):
        left, top = place_pct(picture, cost, held)
        marks.append(
            Mark(
                left_pct=round(left, 3),
                top_pct=round(top, 3),
                target=row.row_id,
                name=row.label,
                facts=[
                    f"{SAID[row.verdict]}; {metal} held {held_said(row.held_pct)}",
                    f"{money(row.cost, currency)} a year",
                    f"{number(row.hours)}{NBSP}h and {number(row.exchanges)} exchanges a year",
                ],
                side="left" if left > 55 else "right",
            )
        )
    return marks


def _data(rows: Sequence[PlanRow], metal: str, currency: str, names: Names) -> Table:
    return Table(
        id=names.of("data-trade-off"),
        caption="Data of the chart",
        heads=[Head("Plan", numeric=False), Head("Cost", f"{currency} a year"), Head(f"Held, {metal}", "%")],
        rows=[[Cell(row.label), num(row.cost, 0), Cell(held_said(row.held_pct))] for row in rows],
    )


def _table(rows: Sequence[PlanRow], lead: str, folder: ResultFolder, names: Names) -> Table:
    currency = folder.scenario.settings.prices.currency
    metals = list(verdicts(folder, folder.plans[0]))
    settings = folder.scenario.settings
    heads = [Head("Plan", numeric=False), Head("So", numeric=False)]
    heads += [
        Head(f"{metal} held", f"≥{NBSP}{figures(settings.metals[metal].standard_pct, 4)}{NBSP}%") for metal in metals
    ]
    heads += [Head("Years met", "%"), Head("Cost", f"{currency} a year"), Head("Hours", "a year")]
    heads += [Head("Exchanges", "a year"), Head("Gel bought", "kg a year")]
    body = []
    for row in rows:
        summary = folder.summary[row.name]
        held = [summary[f"held_pct.{metal}"].estimate.mean for metal in metals]
        mark = " (marked)" if row.name == lead else ""
        named = row.label if row.label == row.name else f"{row.name}: {row.label}"
        body.append(
            [
                Cell(f"{named}{mark}", row.name),
                Cell(SAID[row.verdict], tone=TONES[row.verdict]),
                *(Cell(held_said(share), f"{share:.10g}") for share in held),
                num(100 * row.years_met, 0),
                num(row.cost, 0),
                num(row.hours, 0),
                num(row.exchanges, 0),
                num(summary["gel_bought_kg"].estimate.mean, 1),
            ]
        )
    return Table(
        id=names.of("plans"),
        caption="Every plan that was simulated",
        heads=heads,
        rows=body,
        sortable=True,
        row_ids=[row.row_id for row in rows],
    )
