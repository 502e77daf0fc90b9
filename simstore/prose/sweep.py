"""A sweep in words: how many points keep the standards, which is cheapest, and the front that none beats."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from simstore.prose.result import cautions
from simstore.prose.terminal import aligned, number, share_said, wrapped
from simstore.results.judged import deciding_metal, meets_all
from simstore.statistics.pareto import front_order, pareto_front
from simstore.study.sweep.grid import Point, Sweep

COST: Final = "annual_equivalent_cost"
MOST_ROWS: Final = 15


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepJudged:
    """What follows from a sweep.

    Attributes
    ----------
    metal : str
        Metal class that decides.
    meets : mapping of str to bool
        By point, whether every standard is surely met.
    on_front : mapping of str to bool
        By point, whether none costs less and holds more.
    cheapest : Point or None
        Of those that meet.
    today : Point or None
        The point that is the scenario as it stands, if it is in the grid.
    """

    metal: str
    meets: dict[str, bool]
    on_front: dict[str, bool]
    front: tuple[Point, ...]
    cheapest: Point | None
    today: Point | None


def judge(found: Sweep) -> SweepJudged:
    """Find the deciding metal, the points that meet, the front and the cheapest."""
    metal = deciding_metal(found.summary, found.scenario.settings)
    meets = meets_all(found.runs, {name: one.settings for name, one in found.scenarios.items()})
    cost = np.array([_mean(found, point, COST) for point in found.points])
    held = np.array([_mean(found, point, f"held_pct.{metal}") for point in found.points])
    front = pareto_front(cost, held)
    good = [place for place, point in enumerate(found.points) if meets[point.name]]
    return SweepJudged(
        metal=metal,
        meets=meets,
        on_front={point.name: bool(mark) for point, mark in zip(found.points, front, strict=True)},
        front=tuple(found.points[int(place)] for place in front_order(cost, held, front)),
        cheapest=found.points[min(good, key=lambda place: (cost[place], place))] if good else None,
        today=next((p for p in found.points if found.scenarios[p.name].settings == found.scenario.settings), None),
    )


def sweep_words(found: Sweep, judged: SweepJudged) -> str:
    """Say what a sweep found, in lines of at most 80 characters."""
    settings = found.scenario.settings
    blocks = [wrapped(_answer(found, judged)), _front(found, judged), wrapped(_method(found))]
    shown = judged.cheapest or judged.front[0]
    blocks.append(cautions([(found.summary[shown.name], settings)]))
    return "\n\n".join(block for block in blocks if block) + "\n"


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


def _front(found: Sweep, judged: SweepJudged) -> str:
    """Lay out the points that none beats, cheapest first."""
    currency = found.scenario.settings.prices.currency
    rows: list[tuple[str, ...]] = [("no point beats these", f"{currency}/a", f"{judged.metal}, %", "h/a", "standards")]
    for point in judged.front[:MOST_ROWS]:
        label = point.label if len(point.label) <= 40 else f"{point.label[:37]}..."
        rows.append(
            (
                label,
                number(_mean(found, point, COST), 0),
                number(_mean(found, point, f"held_pct.{judged.metal}"), 2),
                number(_mean(found, point, "staff_h"), 0),
                "kept" if judged.meets[point.name] else "not surely",
            )
        )
    more = len(judged.front) - MOST_ROWS
    return aligned(rows) + (f"\n... and {more} more in points.csv" if more > 0 else "")


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
