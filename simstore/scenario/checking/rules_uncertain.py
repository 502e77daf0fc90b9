"""Rules about the ranges of uncertain inputs: each names keys that are there, each of one number, and two ends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from simstore.scenario.checking.finding import Finding, shown
from simstore.scenario.checking.keys import split, unknown_part
from simstore.scenario.checking.view import View


def uncertain_findings(view: View) -> Iterator[Finding]:
    """Every broken rule about uncertain inputs."""
    if not view.settings.uncertain:
        return
    document = view.settings.model_dump(by_alias=True)
    for name, one in view.settings.uncertain.items():
        path = ("uncertain", name)
        if not one.low < one.high:
            rule = f"must be below high = {one.high:g}"
            yield Finding(path=(*path, "low"), value=shown(one.low), rule=rule, cure="give the lower end first")
        for place, key in enumerate(one.keys):
            parts = split(key)
            broken = view.names.get(str(parts[0]), frozenset()) - set(document.get(str(parts[0])) or ())
            if len(parts) > 1 and parts[1] in broken:
                continue  # its table has faults of its own, which are told already
            fault = unknown_part(parts, document, 0.0)
            if fault is not None:
                yield Finding(path=(*path, "keys", place), value=shown(key), rule=fault.rule, cure=fault.cure)
                continue
            value = value_at(document, key)
            if isinstance(value, bool) or not isinstance(value, int | float):
                rule = f"is {shown(value)}, not a number"
                cure = "name a key that has one number; of a spread, its median or sigma_ln"
                yield Finding(path=(*path, "keys", place), value=shown(key), rule=rule, cure=cure)


def value_at(document: Any, key: str) -> Any:
    """Look up a dotted key in a document; None where there is nothing."""
    here = document
    for part in split(key):
        here = here[part] if isinstance(part, int) else here.get(part)
        if here is None:
            return None
    return here
