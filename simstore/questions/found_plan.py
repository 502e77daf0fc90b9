"""The plan that a search found, for a question about it: from the search's folder, or from its answer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from simstore.errors import SimstoreError
from simstore.questions.answer import Answer
from simstore.questions.options import Option, PathText

if TYPE_CHECKING:
    from simstore.scenario.scenario import Scenario

SearchFolder = Annotated[
    PathText | Answer[Any] | None,
    Option(reads=Path, metavar="DIR", help="Folder of a search: take the plan found there, as plan 'found'."),
]


def with_found(scenario: Scenario, found: PathText | Answer[Any] | None) -> tuple[Scenario, dict[str, Any] | None]:
    """Add the plan that a search has chosen, and say which that is; nothing found adds none.

    Raises
    ------
    SimstoreError
        If there is no such plan, or it does not fit.
    """
    from simstore.plans.found import SEARCH_FILE, chosen_in, chosen_of, with_found_plan

    if found is None:
        return scenario, None
    if isinstance(found, Answer):
        if SEARCH_FILE not in found.documents:
            msg = f"{found!r} is not the answer of a search: give what find returned"
            raise SimstoreError(msg)
        chosen = chosen_in(json.loads(json.dumps(found.documents[SEARCH_FILE])), repr(found))
    else:
        chosen = chosen_of(Path(found))
    return with_found_plan(scenario, chosen), chosen


def first_fresh(chosen: dict[str, Any] | None) -> int:
    """Tell the number of the first replication that had no part in the search; 0 without a search."""
    from simstore.plans.found import UNUSED

    return 0 if chosen is None else int(chosen[UNUSED])


def documents_with(chosen: dict[str, Any] | None) -> dict[str, dict[str, Any]]:
    """Give the file of an answer's folder that says which plan was taken as plan 'found'."""
    from simstore.plans.found import FOUND_FILE

    return {} if chosen is None else {FOUND_FILE: chosen}
