"""Texts with signs that nobody sees: a terminal or a browser would obey them, and they turn the order of letters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from simstore.errors import holds_unseen, visible
from simstore.scenario.checking.finding import Finding, KeyPath

RULE = "holds a sign that is not seen, such as a control character"
CURE = "type the text anew"


def unseen_findings(value: Any, path: KeyPath = ()) -> Iterator[Finding]:
    """Yield a finding for every text and every name of a document that holds such a sign."""
    if isinstance(value, str):
        if holds_unseen(value):
            yield Finding(path=path, value=visible(value)[:60], rule=RULE, cure=CURE)
    elif isinstance(value, Mapping):
        for key, part in value.items():
            if holds_unseen(str(key)):
                yield Finding(path=(*path, visible(str(key))[:60]), rule=RULE, cure=CURE)
            yield from unseen_findings(part, (*path, str(key)))
    elif isinstance(value, tuple):
        for n, part in enumerate(value):
            yield from unseen_findings(part, (*path, n))
