"""Runs a grid over any keys of a scenario, to see what more of something buys."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.questions.answer import Answer
from simstore.questions.loaded import Source, asking
from simstore.questions.options import HalfWidths, How, Option, listed
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.sweep.front import SweepJudged
    from simstore.study.sweep.grid import Sweep

Scalar = bool | int | float | str


@question()
def sweep(
    store: Source,
    plan: Annotated[str | None, Option(metavar="NAME", help="Plan to run. Default: the scenario's.")] = None,
    *,
    vary: Annotated[
        Mapping[str, Sequence[Scalar]] | Sequence[str],
        Option(
            many=True,
            metavar="KEY=V1,V2,...",
            help="Scenario key and its values, such as ovens.small.count=1,2; plan.KEY for the plan's own. Repeat.",
        ),
    ],
    replications: Annotated[int, Option(reads=int, least=1, help="Simulated runs of each point.")] = 10,
    half_width: HalfWidths = (),
    **how: Unpack[How],
) -> Answer[Sweep]:
    """Run a plan of SCENARIO at every point of a grid, and show what more cost or work buys."""
    from simstore.lab.precision import precision_of
    from simstore.lab.runs_table import runs_table
    from simstore.plans.chosen import chosen_plans
    from simstore.prose.answers.sweep import sweep_blocks
    from simstore.study.sweep.front import judge
    from simstore.study.sweep.grid import sweep as swept
    from simstore.study.sweep.grid import varied
    from simstore.study.sweep.tables import points_table

    values = varied(vary if isinstance(vary, Mapping) else listed(vary))
    asked = asking(store, how)
    name = chosen_plans(asked.scenario, [plan] if plan else [])[0]
    precision = precision_of(asked.scenario, replications, listed(half_width))
    with asked.bench(asked.scenario, "points x runs") as bench:
        found = swept(bench, name, values, precision)
    judged = judge(found)
    return Answer(
        question="sweep",
        scenario=asked.scenario,
        asked={"plan": name, "vary": values, "half_widths": precision.half_widths},
        found=found,
        replications=found.replications,
        measured=found.summary,
        title="What more cost or work buys",
        blocks=list(sweep_blocks(found, judged)),
        make_tables=lambda: {"points": points_table(found, judged), "summary": runs_table(found.runs)},
        make_pictures=lambda: pictures_of(found, judged),
    )


def pictures_of(found: Sweep, judged: SweepJudged) -> Iterator[tuple[str, Picture]]:
    """Draw cost against held share, hours against excess, and cadence against ready stock where both vary."""
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import cadence_and_stock, hours_and_excess, tradeoff
    from simstore.study.sweep.tables import drawn_points, grid_rows

    settings = found.scenario.settings
    metal = judged.metal
    standard, what = settings.metals[metal].standard_pct, settings.metals[metal].label
    source = source_line(settings.title, settings.note, replications=found.replications)
    points = drawn_points(found, judged)
    pictures = [
        tradeoff(points, standard_pct=standard, currency=settings.prices.currency, what=what, source=source),
        hours_and_excess(points, source=source),
    ]
    grid = grid_rows(found, judged)
    if grid is not None:
        pictures.append(cadence_and_stock(grid, standard_pct=standard, what=what, source=source))
    yield from ((picture.name, picture) for picture in pictures)
