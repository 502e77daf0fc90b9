"""A sweep in words: how many points keep the standards, which is cheapest, and the front that none beats."""

from __future__ import annotations

from typing import Final

from simstore.prose.result import cautions
from simstore.prose.terminal import aligned, number, share_said, wrapped
from simstore.study.sweep.front import SweepJudged
from simstore.study.sweep.grid import Point, Sweep

COST: Final = "annual_equivalent_cost"
MOST_ROWS: Final = 15


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
