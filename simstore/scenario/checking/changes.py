"""Settings changed by dotted keys: for a plan, a sweep or a stress test. No files are read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from simstore.errors import Problem, error_from
from simstore.scenario.checking.check import check_document
from simstore.scenario.checking.document import Document
from simstore.scenario.checking.finding import Finding, KeyPath, dotted, shown
from simstore.scenario.checking.keys import FIXED_FOR_PLANS, changed, split
from simstore.scenario.checking.rules import findings_in
from simstore.scenario.checking.view import ROW, View
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.plan import Plan, Scalar
from simstore.scenario.values.settings import Settings

NEEDS_FILES = ("register", "climate.source", "climate.file", "climate.gaps")
"""Keys that say which files are read, so that they cannot change once these have been read."""


def changed_settings(
    settings: Settings, changes: Mapping[str, Scalar], listed: tuple[Enclosure, ...], *, what: str
) -> Settings:
    """Set dotted keys, such as ``"ovens.small.count"``, and check the whole again.

    Parameters
    ----------
    settings : Settings
        Left as they are.
    changes : mapping of str to scalar
        New values by dotted key.
    listed : tuple of Enclosure
        Rows of the register.
    what : str
        Heads the message if something is wrong.

    Raises
    ------
    SimstoreError
        With every problem that the changes make.
    """
    made, findings = _changed_settings(settings.model_dump(by_alias=True), changes, listed)
    if findings:
        raise error_from((_problem(finding, listed) for finding in findings), what)
    return made


def plan_findings(
    document: Document, plans: Mapping[str, Plan], already: list[Finding], enclosures: tuple[Enclosure, ...]
) -> Iterator[Finding]:
    """Yield what the changes of each plan break that is not broken without them.

    Parameters
    ----------
    document : dict
        The checked document.
    plans : mapping of str to Plan
        The sound ones.
    already : list of Finding
        What is broken without any plan's changes.
    enclosures : tuple of Enclosure
        Rows of the register.
    """
    known = {(finding.path, finding.rule) for finding in already}
    for name, plan in plans.items():
        path = ("plans", name, "changes")
        allowed = dict(plan.changes)
        for key, value in plan.changes.items():
            reason = FIXED_FOR_PLANS.get(key.split(".")[0])
            if reason is not None:
                del allowed[key]
                yield Finding(path=(*path, key), value=shown(value), rule="cannot be changed by a plan", cure=reason)
        if not allowed:
            continue
        _, findings = _changed_settings(document, allowed, enclosures)
        for finding in findings:
            if (finding.path, finding.rule) not in known:
                yield _moved(finding, path, allowed)


def _changed_settings(
    document: Document, changes: Mapping[str, Scalar], enclosures: tuple[Enclosure, ...]
) -> tuple[Settings, list[Finding]]:
    fixed = [
        Finding(
            path=split(key), value=shown(value), rule="cannot change once the files are read", cure="edit the scenario"
        )
        for key, value in changes.items()
        if key in NEEDS_FILES
    ]
    document, refused = changed(document, {key: value for key, value in changes.items() if key not in NEEDS_FILES})
    checked = check_document(document)
    view = View(settings=checked.settings, names=checked.names, enclosures=enclosures)
    return checked.settings, [*fixed, *refused.values(), *checked.findings, *findings_in(view)]


def _moved(finding: Finding, path: KeyPath, changes: Mapping[str, Scalar]) -> Finding:
    """Make the finding one of the plan: at the change that made it, or at all of them."""
    key = dotted(finding.path)
    if key in changes:
        return Finding(path=(*path, key), value=finding.value, rule=finding.rule, cure=finding.cure)
    place = "the register" if finding.path[0] == ROW else key
    return Finding(
        path=path, value=shown(dict(changes)), rule=f"makes {place} wrong: {finding.rule}", cure=finding.cure
    )


def _problem(finding: Finding, enclosures: tuple[Enclosure, ...]) -> Problem:
    key = dotted(finding.path)
    if finding.path and finding.path[0] == ROW:
        key = f"enclosure '{enclosures[int(finding.path[1])].id}' {finding.path[2]}"
    return Problem(file="scenario", key=key, value=finding.value, rule=finding.rule, cure=finding.cure)
