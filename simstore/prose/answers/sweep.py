"""A sweep in words: how many points keep the standards, which is cheapest, and the front that none beats."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from simstore.prose.blocks import Block, Cell, Chart, Column, Data, Paragraph, Table, num
from simstore.prose.cautions import cautions
from simstore.prose.phrases import begun, number, share_said
from simstore.study.sweep.front import SweepJudged
from simstore.study.sweep.grid import Point, Sweep

COST: Final = "annual_equivalent_cost"
MOST_ROWS: Final = 15


def sweep_blocks(found: Sweep, judged: SweepJudged) -> Iterator[Block]:
    """Say what a sweep found."""
    yield Paragraph(text=_answer(found, judged))
    yield _front(found, judged)
    more = len(judged.front) - MOST_ROWS
    if more > 0:
        yield Paragraph(text=f"... and {more} more in points.csv", close=True)
    yield Paragraph(text=_method(found))
    shown = judged.cheapest or judged.front[0]
    yield from cautions([(found.summary[shown.name], found.scenario.settings)])
    yield Chart(picture="hours_and_excess")
    yield Chart(picture="cadence_and_stock")
    yield Data(table="points", caption="Every point of the grid")


def _answer(found: Sweep, judged: SweepJudged) -> str:
    currency, metal = found.scenario.settings.prices.currency, judged.metal
    count = sum(judged.meets.values())
    if judged.cheapest is None:
        best = max(found.points, key=lambda point: _mean(found, point, f"held_pct.{metal}"))
        return (
            f"None of the {len(found.points)} points surely keeps every standard. Most {metal} is held with "
            f"{best.label}: {share_said(_mean(found, best, f'held_pct.{metal}'))} of object-days, at "
            f"{number(_mean(found, best, COST), 0)} {currency} a year."
        )
    best = judged.cheapest
    cost = found.summary[best.name][COST].estimate
    ends = [number(end, 0) for end in (cost.low, cost.high)]
    spread = f" ({ends[0]} to {ends[1]})" if ends[0] != ends[1] else ""
    years = found.summary[best.name]["years_met"].estimate
    met = round(years.mean * found.replications)
    return (
        f"{count} of {len(found.points)} points keep every standard; the cheapest is {best.label}, at "
        f"{number(cost.mean, 0)}{spread} {currency} a year with capital: {metal} held "
        f"{share_said(_mean(found, best, f'held_pct.{metal}'))} of object-days, all standards met in {met} of "
        f"{found.replications} simulated runs (true share {100 * years.low:.0f} to {100 * years.high:.0f} %)."
    )


def _front(found: Sweep, judged: SweepJudged) -> Table:
    """Lay out the points that none beats, cheapest first."""
    currency = found.scenario.settings.prices.currency
    return Table(
        caption="Points that no other beats",
        columns=[
            Column("Point", numeric=False, short="no point beats these", most=40),
            Column("Cost", f"{currency} a year", short=f"{currency}/a"),
            Column(f"{begun(judged.metal)} held", "%", short=f"{judged.metal}, %"),
            Column("Hours", "a year", short="h/a"),
            Column("Standards", numeric=False, short="standards"),
        ],
        rows=[
            [
                Cell(point.label),
                num(_mean(found, point, COST), 0),
                num(_mean(found, point, f"held_pct.{judged.metal}"), 2),
                num(_mean(found, point, "staff_h"), 0),
                Cell("kept" if judged.meets[point.name] else "not surely"),
            ]
            for point in judged.front[:MOST_ROWS]
        ],
    )


def _method(found: Sweep) -> str:
    runs, years = found.replications, found.scenario.settings.years
    return (
        f"Plan '{found.plan}' at {len(found.points)} points, {runs} run{'s' if runs > 1 else ''} of {years} "
        f"year{'s' if years > 1 else ''} each under the same luck. 'Kept' holds for all points and metal classes "
        "together at 95 % (Bonferroni). The best of many looks better than it is: run it again with another --seed "
        "before relying on it."
    )


def _mean(found: Sweep, point: Point, metric: str) -> float:
    return found.summary[point.name][metric].estimate.mean
