"""What one step more or less than the plan that was found changes: one more oven, two hours, ten kilograms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from simstore.prose.blocks import Block, Cell, Chart, Column, Heading, Paragraph, Table, num
from simstore.prose.phrases import NONE, begun, number
from simstore.results.objective import SIMULATED_COST
from simstore.statistics.intervals import MeanInterval
from simstore.statistics.rare_differences import most_unseen_pct
from simstore.study.find.marginal import MarginalRow
from simstore.study.find.search import Found
from simstore.study.find.tables import scarcest_metal

BESIDES: Final = (("staff_h", "Hours", 1), ("exchanges", "Exchanges", 0))
"""Metric, heading and decimals of the columns for which the terminal has no room."""


def steps(found: Found) -> Iterator[Block]:
    """Lay out the marginal table; nothing where there is none."""
    if not found.marginal:
        return
    metal = scarcest_metal(found)
    currency = found.scenario.settings.prices.currency
    yield Heading(text="What one step more or less buys", only="page")
    yield Paragraph(text="Each line changes one thing of the plan that was found, under the same luck.", only="page")
    if any(row.differences for row in found.marginal):
        yield Chart(picture="what_more_buys")
    metrics = [(f"held_pct.{metal}", 2), (SIMULATED_COST, 0), *((name, decimals) for name, _, decimals in BESIDES)]
    yield Table(
        caption="What one step more or less changes",
        columns=[
            Column("Step", numeric=False, short="one step more or less"),
            Column(f"{begun(metal)} held", "points", short=f"{metal} held, points"),
            Column("Cost", f"{currency} a year", short=f"{currency} a year"),
            *(Column(head, "a year", only="page") for _, head, _ in BESIDES),
        ],
        rows=[_row(row, metrics) for row in found.marginal],
        indented=True,
        sortable=True,
    )
    for row in found.marginal:
        if row.differences and row.step.idle_hours_cost:
            yield Paragraph(
                text=f"Hours are charged when they are worked; paid whether there is work or not, {row.step.what} "
                f"costs {number(row.step.idle_hours_cost, 0)} {currency} a year.",
                close=True,
            )
    years = next((each.replications for row in found.marginal for each in row.differences.values()), 0)
    yield Paragraph(
        text=f"Differences over {years} runs of equal luck; the intervals of a column hold together."
        f"{_rare_said(found.marginal, [metric for metric, _ in metrics], years)}",
        close=True,
    )


def _rare_said(rows: Sequence[MarginalRow], metrics: Sequence[str], runs: int) -> str:
    """Say what is known of a difference that few runs or none show; nothing where there is no such difference."""
    rare = {each.rare_runs for row in rows for name, each in row.differences.items() if name in metrics} - {None}
    if not rare:
        return ""
    return f" Where no run shows a difference, up to {most_unseen_pct(runs):.0f} % of runs may; where few do, more may."


def _row(row: MarginalRow, metrics: Sequence[tuple[str, int]]) -> list[Cell]:
    if row.problem:
        said = Cell(f"{begun(row.step.what)}: {row.problem}", short=row.step.what)
        return [said, Cell(NONE, short="cannot run"), *[Cell(NONE, short="")] * (len(metrics) - 1)]
    cells = [_plus_minus(row.differences.get(metric), decimals) for metric, decimals in metrics]
    return [Cell(begun(row.step.what), short=row.step.what), *cells]


def _plus_minus(difference: MeanInterval | None, decimals: int) -> Cell:
    if difference is None:
        return Cell(NONE)
    mean = num(difference.mean, decimals, sign=True)
    if difference.rare_runs == 0:
        return Cell(f"{mean.text}, always" if difference.mean else "none seen", mean.key)
    if difference.rare_runs:
        return Cell(f"{mean.text}, in {difference.rare_runs} of {difference.replications}", mean.key)
    return Cell(f"{mean.text} ± {number(difference.half_width, decimals)}", mean.key)
