"""Rules about what happens to the store from outside: incidents, visits, arrivals, re-housing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from simstore.scenario.checking.finding import Finding, KeyPath, shown
from simstore.scenario.checking.view import View


def event_findings(view: View) -> Iterator[Finding]:
    """Every broken rule about events from outside."""
    yield from _incidents(view)
    yield from _visits(view)
    yield from _arrivals(view)
    yield from _rehousing(view)


def _not_in_the_run(view: View, day: date, path: KeyPath) -> Iterator[Finding]:
    start, end = view.run_days()
    if start != date.max and not start <= day < end:
        rule = f"lies outside the run, {start} to {end - timedelta(days=1)}"
        yield Finding(path=path, value=shown(day), rule=rule, cure="correct the date, or lengthen the run")


def _incidents(view: View) -> Iterator[Finding]:
    sections = {"oven_out": "ovens", "person_away": "technicians"}
    for position, incident in enumerate(view.settings.incidents):
        path = ("incidents", position)
        section = sections.get(incident.what)
        if section is not None:
            yield from view.unknown(section, incident.name, (*path, "name"))
        elif incident.name is not None:
            rule = f'has no meaning for what = "{incident.what}"'
            yield Finding(path=(*path, "name"), value=shown(incident.name), rule=rule, cure="leave it out")
        end = view.run_days()[1]
        if end != date.max and incident.starts >= end:
            yield from _not_in_the_run(view, incident.starts, (*path, "starts"))


def _visits(view: View) -> Iterator[Finding]:
    for position, visits in enumerate(view.settings.visits):
        yield from view.unknown("metals", visits.metal, ("visits", position, "metal"))


def _arrivals(view: View) -> Iterator[Finding]:
    for position, batch in enumerate(view.settings.arrivals):
        path = ("arrivals", position)
        yield from view.unknown("kinds", batch.kind, (*path, "kind"))
        yield from view.unknown("metals", batch.metal, (*path, "metal"))
        yield from _not_in_the_run(view, batch.arrives, (*path, "arrives"))


def _rehousing(view: View) -> Iterator[Finding]:
    for position, campaign in enumerate(view.settings.rehousing):
        path = ("rehousing", position)
        for old, new in campaign.replace.items():
            yield from view.unknown("kinds", old, (*path, "replace", old))
            yield from view.unknown("kinds", new, (*path, "replace", old))
            if old == new:
                rule = "replaces a kind by itself"
                yield Finding(path=(*path, "replace", old), value=shown(new), rule=rule, cure="name another kind")
        for place, metal in enumerate(campaign.metals):
            yield from view.unknown("metals", metal, (*path, "metals", place))
        yield from _not_in_the_run(view, campaign.starts, (*path, "starts"))
