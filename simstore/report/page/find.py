"""What a search adds to the page: plans that no other beats, what one step more buys, and what would be needed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from simstore.plans.found import name_said
from simstore.prose.phrases import NBSP, begun, figures, number, source_line
from simstore.report.page.figures import figure
from simstore.report.page.find_rivals import rivals
from simstore.report.page.parts import Block, Cell, Head, Mark, Names, Subhead, Table, Text, money, num
from simstore.results.reading import ResultFolder

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.charts.picture import Picture

COST: Final = "annual_equivalent_cost"
NEAR: Final = 2.0
"""The chart shows plans that cost up to so many times as much as the chosen one."""
SHOWN: Final = (("staff_h", "Hours", "a year", 1), ("exchanges", "Exchanges", "a year", 0))


def find_blocks(folder: ResultFolder, names: Names) -> list[Block]:
    """Lay out trade-off, plans that may be as good, and marginal table of a search; empty where it wrote none."""
    document = folder.document("find.json")
    if document is None:
        return []
    return [*_tradeoff(folder, names), *rivals(folder, document, names), *_marginal(folder, document, names)]


def _tradeoff(folder: ResultFolder, names: Names) -> list[Block]:
    points = folder.study_table("pareto.csv")
    settings = folder.scenario.settings
    if points is None or len(points) < 2:
        return []
    ids = [names.of(f"found-{name}") for name in points["plan"]]
    points = points.assign(plan=[name_said(settings, str(name)) for name in points["plan"]])
    blocks: list[Block] = [
        Subhead(text="Plans that were simulated"),
    ]
    standards = {settings.metals[name].standard_pct for name in {one.metal for one in folder.scenario.enclosures}}
    if len(standards) == 1:
        near = points["cost_per_year"] <= NEAR * _reference_cost(points)
        shown, targets = points[near], [target for target, is_near in zip(ids, near, strict=True) if is_near]
        picture = _picture(folder, shown, standards.pop())
        left = len(points) - len(shown)
        note = f"{left} plans that cost more than {NEAR:g} times as much are in the table only." if left else ""
        data = _points(folder, shown, names, [])
        blocks.append(figure(picture, names, data=data, marks=_marks(folder, picture, shown, targets), note=note))
    return [*blocks, _points(folder, points, names, ids)]


def _reference_cost(points: pd.DataFrame) -> float:
    """Cost of the chosen plan; where there is none, of the dearest."""
    chosen = points.loc[points["chosen"] == "yes", "cost_per_year"]
    return float(chosen.iloc[0] if len(chosen) else points["cost_per_year"].max())


def _picture(folder: ResultFolder, points: pd.DataFrame, standard_pct: float) -> Picture:
    """Draw the trade-off; the margin is that of the worst metal class, above a standard that all of them share."""
    from simstore.report.charts.trade_off import tradeoff

    settings = folder.scenario.settings
    chosen = points["chosen"] == "yes"
    held = standard_pct + points["margin_pct"]
    drawn = points.assign(
        label=points["plan"], on_front=points["on_front"] == "yes", role=chosen.map({True: "chosen", False: ""}),
        **{f"cost_{end}": points["cost_per_year"] for end in ("mean", "low", "high")},
        **{f"held_{end}": held for end in ("mean", "low", "high")},
    )  # fmt: skip
    source = source_line(settings.title, settings.note, replications=int(points["replications"].max()))
    currency = settings.prices.currency
    return tradeoff(drawn, standard_pct=standard_pct, currency=currency, what="the worst metal class", source=source)


def _marks(folder: ResultFolder, picture: Picture, points: pd.DataFrame, ids: list[str]) -> list[Mark]:
    axes, box = picture.figure.axes[0], picture.figure.bbox
    currency = folder.scenario.settings.prices.currency
    standard = {metal.standard_pct for metal in folder.scenario.settings.metals.values()}
    marks = []
    for row, target in zip(points.to_dict("records"), ids, strict=True):
        x, y = axes.transData.transform((float(row["cost_per_year"]), min(standard) + float(row["margin_pct"])))
        left = 100 * float(x) / box.width
        marks.append(
            Mark(
                left_pct=round(left, 3),
                top_pct=round(100 - 100 * float(y) / box.height, 3),
                target=target,
                name=str(row["plan"]),
                facts=[
                    f"{money(float(row['cost_per_year']), currency)} a year",
                    f"{figures(float(row['margin_pct']), sign=True)} points over the standard",
                    f"all standards met in {int(row['good_years'])} of {int(row['replications'])} years",
                ],
                side="left" if left > 55 else "right",
            )
        )
    return marks


def _points(folder: ResultFolder, points: pd.DataFrame, names: Names, ids: list[str]) -> Table:
    currency = folder.scenario.settings.prices.currency
    return Table(
        id=names.of("found-plans"),
        caption="Simulated plans; the margin is that of the metal class that comes closest to its standard",
        heads=[
            Head("Plan", numeric=False),
            Head("Cost with capital", f"{currency} a year"),
            Head("Margin", "points over the standard"),
            Head("Good years", "all standards met"),
            Head("Beaten by another", numeric=False),
        ],
        rows=[
            [
                Cell(f"{row['plan']}{' (chosen)' if row['chosen'] == 'yes' else ''}"),
                num(float(row["cost_per_year"]), 0),
                num(float(row["margin_pct"]), 2, sign=True),
                Cell(
                    f"{int(row['good_years'])} of {int(row['replications'])}",
                    f"{row['good_years'] / row['replications']:.6g}",
                ),
                Cell("no" if row["on_front"] == "yes" else "yes"),
            ]
            for row in points.to_dict("records")
        ],
        sortable=True,
        row_ids=ids,
    )


def _marginal(folder: ResultFolder, document: dict[str, Any], names: Names) -> list[Block]:
    """Draw and list what each step more or less than the chosen plan changes."""
    steps = [step for step in document["marginal"] if step["differences"]]
    if not steps:
        return []
    metal = deciding_metal(folder)
    table = _marginal_table(folder, document["marginal"], metal, names)
    blocks: list[Block] = [
        Subhead(text="What one step more or less buys"),
        Text(
            text="Each line changes one thing of the plan that was found, under the same luck. Intervals of 95"
            f"{NBSP}% hold together for each column."
        ),
        figure(_marginal_picture(folder, steps, metal), names, data=_marginal_table(folder, steps, metal, names)),
        table,
    ]
    paid = [step for step in steps if step["if_hours_are_paid_anyway"]]
    currency = folder.scenario.settings.prices.currency
    blocks += [
        Text(
            text=f"Hours are charged when they are worked. Paid whether there is work or not, {step['step']} costs "
            f"{money(step['if_hours_are_paid_anyway'], currency)} a year."
        )
        for step in paid
    ]
    return blocks


def deciding_metal(folder: ResultFolder) -> str:
    """Metal class of the chosen plan with the least margin over its standard."""
    settings = folder.scenario.settings
    (summary,) = folder.summary.values()
    margins = {
        name.partition(".")[2]: measured.estimate.mean - settings.metals[name.partition(".")[2]].standard_pct
        for name, measured in summary.items()
        if name.startswith("held_pct.")
    }
    return min(margins, key=lambda metal: (margins[metal], metal))


def _marginal_picture(folder: ResultFolder, steps: list[dict[str, Any]], metal: str) -> Picture:
    import pandas as pd

    from simstore.report.charts.differences import what_more_buys

    settings = folder.scenario.settings
    rows = pd.DataFrame(
        [
            [step["step"], *_ends(step, f"held_pct.{metal}"), *_ends(step, COST)]
            for step in steps
        ],
        columns=["label", *(f"{what}_{end}" for what in ("gain", "cost") for end in ("mean", "low", "high"))],
    )  # fmt: skip
    replications = int(steps[0]["differences"][COST]["replications"])
    source = source_line(settings.title, settings.note, replications=replications)
    return what_more_buys(rows, currency=settings.prices.currency, what=settings.metals[metal].label, source=source)


def _ends(step: dict[str, Any], metric: str) -> list[float]:
    """Mean and interval of one difference; the mean where the runs cannot tell."""
    cell = step["differences"][metric]
    return [float(cell["mean"] if cell[end] is None else cell[end]) for end in ("mean", "low", "high")]


def _marginal_table(folder: ResultFolder, steps: list[dict[str, Any]], metal: str, names: Names) -> Table:
    currency = folder.scenario.settings.prices.currency
    columns = [
        (f"held_pct.{metal}", f"{begun(metal)} held", "points", 2),
        (COST, "Cost", f"{currency} a year", 0),
        *SHOWN,
    ]
    heads = [Head("Step", numeric=False)]
    for _, label, unit, _ in columns:
        heads += [Head(label, unit), Head("Limits", "95 %")]
    rows = []
    for step in steps:
        if not step["differences"]:
            rows.append([Cell(f"{begun(step['step'])}: {step['problem']}"), *[Cell("–")] * (2 * len(columns))])
            continue
        cells = [Cell(begun(step["step"]))]
        for metric, _, _, decimals in columns:
            mean, low, high = _ends(step, metric) if metric in step["differences"] else (math.nan,) * 3
            limits = (
                f"{number(low, decimals, sign=True)} to {number(high, decimals, sign=True)}"
                if math.isfinite(low)
                else "–"
            )
            cells += [num(mean, decimals, sign=True), Cell(limits, f"{low:.10g}" if math.isfinite(low) else "")]
        rows.append(cells)
    return Table(
        id=names.of("marginal"),
        caption="What one step more or less changes",
        heads=heads,
        rows=rows,
        sortable=True,
    )
