"""Checks a document against the value classes, and saves what is sound so that the other rules can still speak."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticUndefined

from simstore.scenario.checking.document import Document
from simstore.scenario.checking.finding import Finding, KeyPath
from simstore.scenario.checking.sentences import findings_of
from simstore.scenario.values.room import Climate
from simstore.scenario.values.settings import Settings

NAMED_SECTIONS = (
    "metals", "kinds", "packets", "films", "sorbents", "indicators", "technicians", "ovens", "stock", "plans",
    "programmes",
)  # fmt: skip
_STAND_INS: Mapping[str, Any] = {"title": "?", "start": date.max, "default_plan": "", "climate": Climate()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """Outcome of one check.

    Attributes
    ----------
    settings : Settings
        Complete if ``findings`` is empty; otherwise without the tables that are broken.
    names : mapping of str to frozenset of str
        Every name that each section defines, also of broken tables, so that nobody is told that they are missing.
    findings : list of Finding
    """

    settings: Settings
    names: Mapping[str, frozenset[str]]
    findings: list[Finding]


def check_document(document: Document) -> Checked:
    """Check a whole document, built-in entries merged in and arrays as tuples."""
    names = {section: _names(document.get(section)) for section in NAMED_SECTIONS}
    try:
        settings, findings = Settings.model_validate(document), []
    except ValidationError as error:
        findings = findings_of(error, document, Settings)
        settings = _sound_part(document, {finding.path for finding in findings})
    return Checked(settings=settings, names=names, findings=findings)


def _names(table: Any) -> frozenset[str]:
    return frozenset(table) if isinstance(table, dict) else frozenset()


def _sound_part(document: Document, broken: set[KeyPath]) -> Settings:
    """Gather the tables that no finding touches; not for running, only for asking further questions."""
    parts: dict[str, Any] = {}
    for name, info in Settings.model_fields.items():
        key = info.alias or name
        default = _STAND_INS.get(name, None if info.is_required() else info.get_default(call_default_factory=True))
        if default is None and name in NAMED_SECTIONS:
            default = {}
        part = document.get(key, PydanticUndefined)
        if isinstance(part, dict) and name in NAMED_SECTIONS:
            part = {entry: table for entry, table in part.items() if not _touched((key, entry), broken)}
        elif part is PydanticUndefined or _touched((key,), broken):
            parts[name] = default
            continue
        try:
            parts[name] = _adapter(info.annotation).validate_python(part, strict=True)
        except ValidationError:
            parts[name] = default
    return Settings.model_construct(**parts)


def _adapter(annotation: Any) -> TypeAdapter[Any]:
    return TypeAdapter(annotation)


def _touched(path: KeyPath, broken: set[KeyPath]) -> bool:
    return any(other[: len(path)] == path for other in broken)
