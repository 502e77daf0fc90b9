"""Runs plans: their year, many times over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.questions.answer import Answer
from simstore.questions.found_plan import SearchFolder, documents_with, first_fresh, with_found
from simstore.questions.loaded import Source, asking
from simstore.questions.options import How, Option
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.prose.blocks import Block
    from simstore.report.charts.picture import Picture
    from simstore.results.columns import RunColumns


@question(reported=True)
def run(
    store: Source,
    *plan: Annotated[str, Option(metavar="NAME", help="Plan to run; repeat for more. Default: the scenario's.")],
    found: SearchFolder = None,
    replications: Annotated[int, Option(reads=int, least=1, help="Simulated runs of each plan.")] = 20,
    **how: Unpack[How],
) -> Answer[list[RunColumns]]:
    """Simulate plans of SCENARIO; write tables, summary, charts and manifest to DIR."""
    from simstore.lab.bench import Task
    from simstore.lab.replicate import COLUMNS
    from simstore.plans.chosen import chosen_plans
    from simstore.plans.found import FOUND
    from simstore.plans.variant import Variant

    asked = asking(store, how)
    whole, chosen = with_found(asked.scenario, found)
    names = chosen_plans(whole, [*plan, *([FOUND] if chosen else [])])
    first = first_fresh(chosen)
    numbers = range(first, first + replications)
    tasks = [Task(Variant(name), number) for name in sorted(names) for number in numbers]
    with asked.bench(whole, f"{len(names)} x {replications} runs") as bench:
        runs = list(bench.runs(tasks, COLUMNS))

    from simstore.prose.answers.run import plan_blocks
    from simstore.prose.cautions import cautions
    from simstore.results.summary import summary_of
    from simstore.results.tables import frames

    settings = {name: whole.under(name).settings for name in names}
    tables, summary = frames(runs), summary_of(runs)

    def blocks() -> Iterator[Block]:
        for name in names:
            yield from plan_blocks(settings[name], name, summary[name], tables["enclosures"], replications)
        yield from cautions((summary[name], settings[name]) for name in names)

    def pictures() -> Iterator[tuple[str, Picture]]:
        from simstore.report.charts.save import named_pictures

        return named_pictures(tables, settings)

    return Answer(
        question="run",
        scenario=whole,
        found=runs,
        replications=replications,
        measured=summary,
        blocks=list(blocks()),
        make_tables=lambda: tables,
        make_pictures=pictures,
        documents=documents_with(chosen),
    )
