"""What follows from a sweep: which points keep every standard, which none beats, and which is the cheapest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simstore.results.judged import deciding_metal, meets_all
from simstore.results.objective import SIMULATED_COST
from simstore.statistics.pareto import front_order, pareto_front
from simstore.study.sweep.grid import Point, Sweep


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
    cost = np.array([_mean(found, point, SIMULATED_COST) for point in found.points])
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


def _mean(found: Sweep, point: Point, metric: str) -> float:
    return found.summary[point.name][metric].estimate.mean
