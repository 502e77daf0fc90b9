"""Says which figure that is not well known decides, and what should be measured first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.questions.answer import Answer
from simstore.questions.found_plan import SearchFolder, documents_with, first_fresh, with_found
from simstore.questions.loaded import Source, asking
from simstore.questions.options import HalfWidths, How, Names, Option, listed
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.sensitivity.effects import Sensitivity


@question()
def sensitivity(
    store: Source,
    plan: Annotated[str | None, Option(metavar="NAME", help="Plan to look at. Default: the scenario's.")] = None,
    *,
    choose_from: Annotated[
        Names, Option(many=True, metavar="NAME", help="Plans that may be chosen. Default: all.")
    ] = (),
    decide: Annotated[int, Option(reads=int, least=0, help="Inputs whose worth of knowing is worked out.")] = 4,
    morris: Annotated[int, Option(reads=int, least=0, help="Trajectories of a screening of all inputs at once.")] = 0,
    found: SearchFolder = None,
    replications: Annotated[int, Option(reads=int, least=1, help="Simulated runs at each end of each range.")] = 5,
    half_width: HalfWidths = (),
    **how: Unpack[How],
) -> Answer[Sensitivity]:
    """Move each uncertain input of SCENARIO; say which matters and what to measure first."""
    from simstore.lab.precision import precision_of
    from simstore.lab.runs_table import runs_table
    from simstore.plans.chosen import chosen_plans
    from simstore.plans.found import FOUND
    from simstore.prose.answers.sensitivity import sensitivity_blocks
    from simstore.study.sensitivity.effects import sensitivity as moved
    from simstore.study.sensitivity.tables import tables_of

    asked = asking(store, how)
    whole, chosen = with_found(asked.scenario, found)
    name = chosen_plans(whole, [plan] if plan else [FOUND] if chosen else [])[0]
    others = chosen_plans(whole, listed(choose_from)) if choose_from else []
    precision = precision_of(asked.scenario, replications, listed(half_width), first=first_fresh(chosen))
    with asked.bench(whole, "ends x runs") as bench:
        outcome = moved(bench, name, precision, decide=decide, plans=others, morris=morris)
    return Answer(
        question="sensitivity",
        scenario=asked.scenario,
        asked={
            "plan": name, "choose_from": others, "decide": decide, "morris": morris,
            "half_widths": precision.half_widths,
        },
        found=outcome,
        replications=outcome.replications,
        measured=outcome.summary,
        title="What to measure first",
        blocks=list(sensitivity_blocks(outcome)),
        make_tables=lambda: {**tables_of(outcome), "summary": runs_table(outcome.runs)},
        make_pictures=lambda: pictures_of(outcome),
        documents=documents_with(chosen),
    )  # fmt: skip


def pictures_of(found: Sensitivity) -> Iterator[tuple[str, Picture]]:
    """Draw how far each input moves the held share, and the cost."""
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import what_to_measure
    from simstore.study.sensitivity.effects import BASE
    from simstore.study.sensitivity.tables import drawn_rows

    settings = found.scenario.settings
    held, cost = found.metrics
    source = source_line(settings.title, settings.note, replications=found.replications)
    said = {
        held: (f"{found.metal} held", "% of object-days", settings.metals[found.metal].standard_pct, "held"),
        cost: ("cost with capital", f"{settings.prices.currency} a year", None, "cost"),
    }
    for metric, (result, unit, limit, name) in said.items():
        base = found.summary[BASE][metric].estimate.mean
        rows = drawn_rows(found, metric)
        picture = what_to_measure(rows, base=base, result=result, unit=unit, limit=limit, source=source)
        yield f"{picture.name}_{name}", picture
