"""Finds the cheapest plan that is proven to keep every metal class, and what more would buy."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.questions.answer import Answer
from simstore.questions.loaded import Source, asking
from simstore.questions.options import How, Option
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.find.search import Found


@question(goes_on=True)
def find(
    store: Source,
    *,
    target: Annotated[
        float,
        Option(reads=float, least=0.01, most=0.999, help="Share of runs in which every metal class must be held."),
    ] = 0.9,
    confidence: Annotated[float, Option(reads=float, least=0.5, most=0.9999, help="Confidence of the proof.")] = 0.95,
    budget: Annotated[int, Option(reads=int, least=50, help="Most simulated years for the search.")] = 4000,
    marginal: Annotated[
        int, Option(reads=int, least=0, help="Runs for each line of the marginal table; 0 for none.")
    ] = 12,
    years: Annotated[
        int | None,
        Option(
            reads=int,
            least=1,
            most=30,
            help="Years over which plans are judged. Default: the scenario's horizon_years.",
        ),
    ] = None,
    **how: Unpack[How],
) -> Answer[Found]:
    """Find the cheapest plan of SCENARIO that keeps its promise, prove it on fresh years, and write it to DIR."""
    from simstore.prose.answers.find import find_blocks
    from simstore.study.find.options import FindOptions
    from simstore.study.find.search import find_plan, over_horizon
    from simstore.study.find.tables import document_of, summary_of_choice, tables_of

    asked = asking(store, how)
    given = over_horizon(asked.scenario, years)
    options = FindOptions(target=target, confidence=confidence, budget=budget, marginal_replications=marginal)
    with asked.watch.search() as (tick, say), asked.bench(given) as bench:
        found = find_plan(bench, options, say=say, tick=tick)
    summary, replications = summary_of_choice(found)

    def pictures() -> list[tuple[str, Picture]]:
        from simstore.report.charts.answers import find_pictures

        return find_pictures(found)

    return Answer(
        question="find",
        scenario=given,
        found=found,
        replications=replications,
        measured=summary,
        title="How the plan was found, and what one more of something buys",
        blocks=list(find_blocks(found)),
        make_tables=lambda: tables_of(found),
        make_pictures=pictures,
        documents={"find.json": document_of(found)},
    )
