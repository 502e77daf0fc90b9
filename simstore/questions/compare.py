"""Compares plans under the same luck: which is better, by how much, and how surely."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.questions.answer import Answer
from simstore.questions.loaded import Source, asking
from simstore.questions.options import HalfWidths, How, Names, Option, listed
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.compare.comparison import Comparison


@question()
def compare(
    store: Source,
    *plan: Annotated[str, Option(metavar="NAME", help="Plan to compare; repeat. The first is the reference.")],
    programme: Annotated[
        Names, Option(many=True, metavar="NAME", help="Compare each plan under each of these programmes.")
    ] = (),
    replications: Annotated[int, Option(reads=int, least=1, help="Simulated runs of each plan.")] = 20,
    half_width: HalfWidths = (),
    indifference: Annotated[
        float | None,
        Option(
            reads=float,
            metavar="AMOUNT",
            help="Run on until the cheapest plan that keeps the standards is told from the others by AMOUNT a year.",
        ),
    ] = None,
    **how: Unpack[How],
) -> Answer[Comparison]:
    """Run plans of SCENARIO under the same luck; say what differs, how surely, and what changing over costs."""
    from simstore.lab.precision import precision_of
    from simstore.plans.chosen import chosen_plans
    from simstore.prose.answers.compare import compare_blocks
    from simstore.study.compare.cheapest import cheapest_of
    from simstore.study.compare.comparison import compare as compared
    from simstore.study.compare.comparison import with_programmes
    from simstore.study.compare.tables import tables_of

    asked, programmes = asking(store, how), listed(programme)
    given = asked.scenario
    whole, names = with_programmes(given, chosen_plans(given, plan), programmes)
    precision = precision_of(given, replications, listed(half_width))
    with asked.bench(whole, f"{len(names)} plans") as bench:
        found = compared(bench, names, precision)
        cheapest = None if indifference is None else cheapest_of(bench, found, indifference)
    return Answer(
        question="compare",
        scenario=given,
        asked={
            "plans": names,
            "programmes": programmes,
            "half_widths": precision.half_widths,
            "indifference": indifference,
        },
        found=found,
        replications=found.replications,
        measured=found.summary,
        title="Side by side, under the same luck",
        blocks=list(compare_blocks(found, cheapest)),
        make_tables=lambda: tables_of(found),
        make_pictures=lambda: pictures_of(found),
    )


def pictures_of(found: Comparison) -> Iterator[tuple[str, Picture]]:
    """Draw one chart of differences for each plan against the reference."""
    from simstore.prose.answers.compare import chart_of
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import paired_differences
    from simstore.study.compare.tables import drawn_rows

    if found.replications < 2:
        return
    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    for plan in found.plans[1:]:
        rows = drawn_rows(found, plan)
        yield chart_of(found, plan), paired_differences(rows, first=plan, second=found.plans[0], source=source)
