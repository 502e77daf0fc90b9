"""Takes a plan through failures, to see what is lost."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.questions.answer import Answer
from simstore.questions.found_plan import SearchFolder, documents_with, first_fresh, with_found
from simstore.questions.loaded import Source, asking
from simstore.questions.options import HalfWidths, How, Option, listed
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.stress.losses import StressTest


@question()
def stress(
    store: Source,
    plan: Annotated[str | None, Option(metavar="NAME", help="Plan to test. Default: the scenario's.")] = None,
    *,
    found: SearchFolder = None,
    replications: Annotated[int, Option(reads=int, least=1, help="Simulated runs of each failure.")] = 10,
    half_width: HalfWidths = (),
    **how: Unpack[How],
) -> Answer[StressTest]:
    """Run a plan of SCENARIO through failures: what is lost, and when it is recovered."""
    from simstore.lab.precision import precision_of
    from simstore.lab.runs_table import runs_table
    from simstore.plans.chosen import chosen_plans
    from simstore.plans.found import FOUND
    from simstore.prose.answers.stress import stress_blocks
    from simstore.study.stress.losses import stress_test
    from simstore.study.stress.tables import tables_of

    asked = asking(store, how)
    whole, chosen = with_found(asked.scenario, found)
    name = chosen_plans(whole, [plan] if plan else [FOUND] if chosen else [])[0]
    precision = precision_of(asked.scenario, replications, listed(half_width), first=first_fresh(chosen))
    with asked.bench(whole, "failures x runs") as bench:
        tested = stress_test(bench, name, precision)
    metrics = {case: [run.metrics for run in kept] for case, kept in tested.runs.items()}
    return Answer(
        question="stress",
        scenario=asked.scenario,
        asked={"plan": name, "half_widths": precision.half_widths},
        found=tested,
        replications=tested.replications,
        measured=tested.summary,
        title="When something goes wrong",
        blocks=list(stress_blocks(tested)),
        make_tables=lambda: {**tables_of(tested), "summary": runs_table(metrics)},
        make_pictures=lambda: pictures_of(tested),
        documents=documents_with(chosen),
    )


def pictures_of(found: StressTest) -> Iterator[tuple[str, Picture]]:
    """Draw each metal class that loses anything worth a word; the hardest hit one in any case."""
    from simstore.prose.answers.stress import chart_of_metal
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import under_stress
    from simstore.study.stress.losses import drawn_metals
    from simstore.study.stress.tables import spans_table, tables_of

    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    weeks = tables_of(found)["weeks"]
    spans = spans_table(found)
    for metal in drawn_metals(found):
        picture = under_stress(
            weeks[weeks["metal"] == metal].drop(columns="metal"),
            spans,
            standard_pct=settings.metals[metal].standard_pct,
            what=settings.metals[metal].label,
            start=settings.start,
            source=source,
        )
        yield chart_of_metal(metal), picture
