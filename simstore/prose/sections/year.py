"""The year of the plan in three charts, each with a table that is short enough to read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simstore.prose.answers.run import figures_of_plan
from simstore.prose.blocks import Cell, Chart, Column, Paragraph, Section, Table, num
from simstore.prose.phrases import begun, counted, listed
from simstore.results.pooled import hours_by_month, hours_over_weeks, of_plan
from simstore.results.reading import ResultFolder

if TYPE_CHECKING:
    import pandas as pd

MOST_ENCLOSURES = 20
"""Enclosures that are named under the chart of weeks; the folder's table has all."""
MOST_NAMED = 5
"""Enclosures that are named in the sentence beside that chart."""
OFTEN = 0.5
"""An enclosure that is over in a greater share of the runs than this is named."""


def year_section(folder: ResultFolder, plan: str) -> Section:
    """Lay out the year of ``plan``: what it holds and takes, humidity inside, weeks over the ceiling, and the work."""
    over = _over(folder, plan)
    often = often_over_said(over, replications=folder.replications)
    return Section(
        name="year",
        title="The year, week by week",
        blocks=[
            *figures_of_plan(folder.settings_of(plan), plan, folder.summary[plan], folder.tables["enclosures"]),
            Chart(picture="rh_of_the_year", data=_humidity(folder, plan)),
            Chart(picture="weeks_over", data=_worst(over)),
            *([Paragraph(text=often)] if often else []),
            Chart(picture="work_of_the_year", data=_work(folder, plan)),
        ],
    )


def _humidity(folder: ResultFolder, plan: str) -> Table:
    settings = folder.settings_of(plan)
    days = of_plan(folder.tables, "days", plan)
    monthly = (
        days.assign(month=days["date"].str[:7])
        .groupby(["metal", "form", "month"], sort=True)[["rh_p50_pct", "rh_p95_pct", "over_pct", "room_rh_pct"]]
        .mean()
        .reset_index()
    )
    rows = [
        [
            Cell(f"{begun(settings.metals[str(row['metal'])].label)}, {row['form']}"),
            Cell(str(row["month"])),
            num(float(row["rh_p50_pct"]), 1),
            num(float(row["rh_p95_pct"]), 1),
            num(float(row["over_pct"]), 2),
            num(float(row["room_rh_pct"]), 1),
        ]
        for row in monthly.to_dict("records")
    ]
    return Table(
        caption="Relative humidity by month, means of the days",
        columns=[
            Column("Metal and form", numeric=False),
            Column("Month", numeric=False),
            Column("Median inside", "%RH"),
            Column("95 % are below", "%RH"),
            Column("Objects over", "%"),
            Column("Room", "%RH"),
        ],
        rows=rows,
        sortable=True,
    )


def _over(folder: ResultFolder, plan: str) -> pd.DataFrame:
    """Enclosures that were ever over, most hours first: ``enclosure, metal, hours_over, ever, hours_when_over``."""
    days = int(of_plan(folder.tables, "days", plan)["day"].max()) + 1
    grid = hours_over_weeks(
        of_plan(folder.tables, "weeks", plan), of_plan(folder.tables, "enclosures", plan), days=days
    )
    over = grid.loc[grid["hours_over"] > 0, ["enclosure", "metal", "hours_over", "ever"]]
    over = over.assign(hours_when_over=over["hours_over"] / over["ever"])
    return over.sort_values(["hours_over", "enclosure"], ascending=[False, True], kind="stable")


def often_over_said(over: pd.DataFrame, *, replications: int) -> str:
    """Name the enclosures that were over in more than half of the runs, and say how long the worst was when it was.

    Parameters
    ----------
    over : DataFrame
        Enclosures that were ever over, most hours first: ``enclosure``, ``ever`` (share of the runs) and
        ``hours_when_over`` (mean of the runs in which it was).
    replications : int

    Returns
    -------
    str
        Empty if none was ever over.
    """
    if over.empty:
        return ""
    often = over.loc[over["ever"] > OFTEN, "enclosure"].astype(str).tolist()
    runs = "the one run" if replications == 1 else f"more than half of the {replications} runs"
    named = often[:MOST_NAMED]
    more = [f"{len(often) - len(named)} more"] if len(often) > len(named) else []
    text = f"Over the ceiling in {runs}: {listed([*named, *more])}." if often else f"No enclosure was over in {runs}."
    worst = over.iloc[0]
    hours = counted(max(1, round(float(worst["hours_when_over"]))), "hour")
    if replications == 1:
        return f"{text} Longest: {worst['enclosure']}, for {hours}."
    times = round(float(worst["ever"]) * replications)
    each = "that run" if times == 1 else "each of these, on the mean"
    return f"{text} The worst is {worst['enclosure']}, over in {times} of {replications} runs: {hours} in {each}."


def _worst(over: pd.DataFrame) -> Table:
    shown = over.head(MOST_ENCLOSURES)
    rows = [
        [
            Cell(str(row["enclosure"])),
            Cell(str(row["metal"])),
            num(float(row["hours_over"]), 0),
            num(100 * float(row["ever"]), 0),
            num(float(row["hours_when_over"]), 0),
        ]
        for row in shown.to_dict("records")
    ]
    left = len(over) - len(shown)
    more = f" The {left} others are in enclosures.csv and weeks.csv." if left else ""
    return Table(
        caption=f"Enclosures with most hours over their ceiling, means of the simulated runs.{more}",
        columns=[
            Column("Enclosure", numeric=False),
            Column("Metal", numeric=False),
            Column("Hours over", "h a run"),
            Column("Runs in which it was over", "%"),
            Column("Hours in such a run", "h"),
        ],
        rows=rows or [[Cell("None was ever over"), *[Cell("–")] * 4]],
        sortable=True,
    )


def _work(folder: ResultFolder, plan: str) -> Table:
    hours = hours_by_month(folder.tables, plan, replications=folder.replications)
    loads = of_plan(folder.tables, "loads", plan)
    dried_kg = float(loads["gel_kg"].sum()) / folder.replications
    rows = [
        [Cell(str(month)), *(num(float(value), 1) for value in row), num(float(sum(row)), 1)]
        for month, row in zip(hours.index, hours.to_numpy().tolist(), strict=True)
    ]
    return Table(
        caption=f"Hours worked by month and task, means of the simulated runs; {dried_kg:.0f} kg of gel dried in a run",
        columns=[
            Column("Month", numeric=False),
            *(Column(str(task).replace("_", " "), "h") for task in hours.columns),
            Column("all", "h"),
        ],
        rows=rows,
        sortable=True,
    )
