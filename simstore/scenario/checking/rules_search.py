"""Checks of the search space: its keys exist, its base plans too, and it varies only what may be chosen."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.scenario.checking.document import Document
from simstore.scenario.checking.finding import Finding, shown, suggestion
from simstore.scenario.checking.keys import split, unknown_part

FIXED_FOR_SEARCH = {
    "title": "a search keeps the scenario's title",
    "note": "a search keeps the scenario's note",
    "start": "all plans of a search cover the same days",
    "years": "all plans of a search cover the same days",
    "days": "all plans of a search cover the same days",
    "seed": "all plans of a search share their luck",
    "register": "all plans of a search keep the same objects",
    "groups": "all plans of a search keep the same objects",
    "arrivals": "all plans of a search keep the same objects",
    "default_plan": "list the base plans under plans in [search]",
    "metals": "ceilings and standards are what is asked for, not what may be chosen",
    "search": "a search cannot change itself",
}
"""First keys that a search may not vary, and why."""


def search_findings(document: Document) -> Iterator[Finding]:
    """Yield what is wrong with the keys and base plans of a document's [search]."""
    search = document.get("search")
    if not isinstance(search, dict):
        return
    plans = document.get("plans")
    known = plans if isinstance(plans, dict) else {}
    names = search.get("plans", ())
    for name in names if isinstance(names, tuple) else ():
        if name not in known:
            cure = suggestion(str(name), known, known_as="plans of the scenario")
            yield Finding(path=("search", "plans"), value=shown(name), rule="there is no such plan", cure=cure)
    vary = search.get("vary", {})
    for key, values in vary.items() if isinstance(vary, dict) else ():
        reason = FIXED_FOR_SEARCH.get(str(key).split(".")[0])
        if reason is not None:
            yield Finding(
                path=("search", "vary", key), value=shown(values), rule="cannot be varied by a search", cure=reason
            )
            continue
        first = values[0] if isinstance(values, tuple) and values else values
        found = unknown_part(split(str(key)), document, first)
        if found is not None:
            yield Finding(path=("search", "vary", key), value=shown(values), rule=found.rule, cure=found.cure)
