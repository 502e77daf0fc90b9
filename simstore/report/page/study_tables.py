"""Tables of a study that a reader should see at once, laid out with headings, units and intervals."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from simstore.prose.phrases import begun, counted
from simstore.report.page.parts import Block, Cell, Head, Names, Table, Text, num, span
from simstore.results.reading import ResultFolder
from simstore.statistics.estimate import Estimate

if TYPE_CHECKING:
    import pandas as pd


def losses(folder: ResultFolder, table: pd.DataFrame, names: Names) -> Block:
    """Lay out what each failure costs, for the metal classes that lose anything to it."""
    said = _labels(folder, "stresses.csv", "name")
    metals = folder.scenario.settings.metals
    felt = table[(table["held_points"] != 0) | (table["excess_pct_days"] != 0)]
    if felt.empty:
        return Text(text="None of these failures takes any metal class over its ceiling for longer than without it.")
    spared = len(table) - len(felt)
    rows = [
        [
            Cell(begun(said.get(str(row["stress"]), str(row["stress"])))),
            Cell(metals[str(row["metal"])].label),
            num(float(row["held_points"]), 2, sign=True),
            span(Estimate(math.nan, float(row["held_points_low"]), float(row["held_points_high"])), 2),
            num(float(row["worst_week_points"]), 1),
            num(float(row["excess_pct_days"]), 0, sign=True),
            _week(float(row["back_week"])),
        ]
        for row in felt.to_dict("records")
    ]
    rest = f"; {counted(spared, 'pair')} of a failure and a metal that lose nothing not shown"
    return Table(
        id=names.of("stress-losses"),
        caption=f"What each failure costs{rest if spared else ''}",
        heads=[
            Head("Failure", numeric=False),
            Head("Metal", numeric=False),
            Head("Held", "points"),
            Head("Limits", "95 %"),
            Head("Worst week", "points lost"),
            Head("Over the ceiling", "%RH days a year"),
            Head("Over it", "week"),
        ],
        rows=rows,
        sortable=True,
    )


def _labels(folder: ResultFolder, file: str, key: str) -> dict[str, str]:
    """Words for the names in a column of a table; empty where there is no such table."""
    table = folder.study_table(file)
    return (
        {} if table is None else {str(name): str(said) for name, said in zip(table[key], table["label"], strict=True)}
    )


def _week(back: float) -> Cell:
    """Write the week from which the loss is over, counted from 1."""
    return Cell("not by the end", "1e9") if math.isnan(back) else num(back + 1, 0)


def knowing(folder: ResultFolder, table: pd.DataFrame, names: Names) -> Table:
    """Lay out which plan is best at either end of an input, and what it is worth to know the input first."""
    said = _labels(folder, "inputs.csv", "input")
    rows = [
        [
            Cell(begun(said.get(str(row["input"]), str(row["input"])))),
            Cell(str(row["plan_at_low"])),
            Cell(str(row["plan_now"])),
            Cell(str(row["plan_at_high"])),
            num(float(row["object_days"]), 0),
            num(float(row["money"]), 0),
        ]
        for row in table.to_dict("records")
    ]
    return Table(
        id=names.of("sensitivity-knowing"),
        caption="Which plan to choose, and what knowing the input first is worth",
        heads=[
            Head("Input", numeric=False),
            Head("Best plan", "at its low end", numeric=False),
            Head("Best plan", "as it is now", numeric=False),
            Head("Best plan", "at its high end", numeric=False),
            Head("Saved", "object-days a year"),
            Head("Saved", f"{folder.scenario.settings.prices.currency} a year"),
        ],
        rows=rows,
        sortable=True,
    )


def changeover(folder: ResultFolder, table: pd.DataFrame, names: Names) -> Table:
    """Lay out what each plan starts with, buys and wears out."""
    rows = [
        [
            Cell(str(row["plan"])),
            Cell(begun(str(row["what"]))),
            num(float(row["count"]), 0),
            num(float(row["unit_price"]), 2),
            num(float(row["life_years"]), 0),
            Cell("bought" if row["bought_at_start"] == "yes" else "there"),
        ]
        for row in table.to_dict("records")
    ]
    return Table(
        id=names.of("compare-changeover"),
        caption="What each plan starts with and wears out; the price holds the labour of putting it to use",
        heads=[
            Head("Plan", numeric=False),
            Head("What", numeric=False),
            Head("Count"),
            Head("Price", f"{folder.scenario.settings.prices.currency} each"),
            Head("Life", "years"),
            Head("At the start", numeric=False),
        ],
        rows=rows,
        sortable=True,
    )


LAID_OUT: Final[dict[str, Callable[[ResultFolder, pd.DataFrame, Names], Block]]] = {
    "losses": losses,
    "knowing": knowing,
    "changeover": changeover,
}
"""By the stem of the file; other tables are shown as they are, folded."""
