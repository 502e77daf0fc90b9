"""The charts of an answer, by the names of their files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from simstore.plans.found import name_said
from simstore.prose.phrases import source_line
from simstore.results.leading import plan_rows, tightest_metal
from simstore.results.objective import SIMULATED_COST

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.results.reading import ResultFolder
    from simstore.statistics.estimate import Estimate
    from simstore.statistics.intervals import MeanInterval
    from simstore.study.find.search import Found

ENDS: Final = ("mean", "low", "high")
POINT_COLUMNS: Final = ["label", *(f"{what}_{end}" for what in ("cost", "held") for end in ENDS), "on_front", "role"]


def find_pictures(found: Found) -> list[tuple[str, Picture]]:
    """Draw cost against held share of the plans that were simulated, and what one step more buys."""
    import pandas as pd

    from simstore.report.charts.decisions import tradeoff, what_more_buys
    from simstore.study.find.tables import scarcest_metal
    from simstore.study.find.trade_off import drawn_trade_off

    settings = found.scenario.settings
    currency = settings.prices.currency
    pictures = []
    drawn = drawn_trade_off(found.scenario, found.trade_off, found.chosen)
    if drawn is not None:
        points = pd.DataFrame(
            [
                (
                    name_said(settings, point.plan.name), *[point.cost] * 3,
                    *[drawn.standard_pct + point.margin_pct] * 3, point.on_front,
                    "chosen" if point.plan == found.chosen else "",
                )
                for point in drawn.points
            ],
            columns=POINT_COLUMNS,
        )  # fmt: skip
        source = source_line(settings.title, settings.note, replications=max(p.replications for p in drawn.points))
        what = "the worst metal class"
        pictures.append(tradeoff(points, standard_pct=drawn.standard_pct, currency=currency, what=what, source=source))
    measured = [row for row in found.marginal if row.differences]
    if measured:
        metal = scarcest_metal(found)
        names = (f"held_pct.{metal}", SIMULATED_COST)
        rows = pd.DataFrame(
            [
                (row.step.what, *(getattr(row.differences[name], end) for name in names for end in ENDS))
                for row in measured
            ],
            columns=["label", *(f"{what}_{end}" for what in ("gain", "cost") for end in ENDS)],
        )
        runs = measured[0].differences[SIMULATED_COST].replications
        source = source_line(settings.title, settings.note, replications=runs)
        what = settings.metals[metal].label
        pictures.append(what_more_buys(rows, currency=currency, what=what, source=source))
    return [(picture.name, picture) for picture in pictures]


def plans_picture(folder: ResultFolder, lead: str) -> Picture:
    """Draw the plans of a folder by cost and held share."""
    import pandas as pd

    from simstore.report.charts.trade_off import tradeoff

    settings = folder.scenario.settings
    metal = settings.metals[tightest_metal(folder)]
    points = pd.DataFrame(
        [
            (
                row.label, *_ends(row.cost), *_ends(row.held._replace(high=min(100.0, row.held.high))), not row.beaten,
                row.role,
            )
            for row in plan_rows(folder, lead)
        ],
        columns=POINT_COLUMNS,
    )  # fmt: skip
    return tradeoff(
        points,
        standard_pct=metal.standard_pct,
        currency=settings.prices.currency,
        what=metal.label,
        source=source_line(settings.title, settings.note, replications=folder.replications),
        marked="chosen" if lead in folder.plans else "cheapest",
    )


def _ends(measured: MeanInterval | Estimate) -> tuple[float, float, float]:
    """Mean and interval; the mean in place of ends that the runs cannot tell."""
    mean, low, high = measured.mean, measured.low, measured.high
    return mean, low if low == low else mean, high if high == high else mean
