"""Says how much gel each kind of enclosure needs for an interval."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.questions.answer import Answer
from simstore.questions.loaded import Source, asking
from simstore.questions.options import How, Option
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.study.size.need import Sizes


@question()
def size(
    store: Source,
    plan: Annotated[
        str | None, Option(metavar="NAME", help="Plan as whose the objects are housed. Default: the scenario's.")
    ] = None,
    *,
    weeks: Annotated[float, Option(reads=float, least=0.5, most=150, help="Weeks between two changes.")] = 13.0,
    **how: Unpack[How],
) -> Answer[Sizes]:
    """Work out the gel that each kind and metal needs for an interval, beside the usual rule and a formula."""
    from simstore.plans.chosen import chosen_plans
    from simstore.prose.answers.size import size_blocks
    from simstore.study.size.need import sizes_of
    from simstore.study.size.tables import tables_of

    asked = asking(store, how)
    name = chosen_plans(asked.scenario, [plan] if plan else [])[0]
    found = sizes_of(asked.scenario, name, weeks=weeks)
    return Answer(
        question="size",
        scenario=asked.scenario,
        asked={"plan": name, "weeks": weeks},
        found=found,
        replications=1,
        measured={name: {}},
        title="How much gel",
        blocks=list(size_blocks(found)),
        make_tables=lambda: tables_of(found),
        make_pictures=dict,
    )
