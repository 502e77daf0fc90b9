"""Every input with where it comes from: a measurement, a printed source, a note of the user's, or an assumption.

What counts as what:

- built-in films, sorbents and indicators carry their source with them;
- a measured leak, weighed gel, a logger or a measured packet is the user's measurement, because the key says so;
- a comment behind a value in ``scenario.toml`` is its source (``price_per_kg = 11.0  # quotation of 3 March``); one
  that begins with "measured" makes it a measurement;
- everything else is an assumption, of the scenario or of the program.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from simstore.exchange_rules import RULES
from simstore.results.reading import ResultFolder
from simstore.scenario.checking.document import catalogue
from simstore.scenario.checking.finding import KeyPath, dotted, shown
from simstore.scenario.checking.key_paths import place_of, unit_text
from simstore.scenario.reading.toml_lines import Lines, line_index
from simstore.scenario.values.settings import Settings

MEASURED: Final = "your measurement"
ASSUMED: Final = "assumption"
PRINTED: Final = "source"
NOTED: Final = "your note"

MEASURED_KEYS: Final = frozenset({"residual_pct", "conductance_kg_per_s_pa"})
"""Keys that only somebody who has measured gives."""
NO_INPUTS: Final = frozenset({"title", "note", "register", "default_plan", "seed", "label", "source"})
SECTION_NAMES: Final = {
    "": "The run",
    "climate": "Climate of the room",
    "metals": "Metals",
    "kinds": "Kinds of enclosure",
    "packets": "Packets",
    "films": "Films",
    "sorbents": "Sorbents",
    "indicators": "Indicators",
    "groups": "Groups of enclosures",
    "technicians": "People",
    "ovens": "Ovens",
    "tasks": "Task times",
    "stock": "Stock and purchases",
    "prices": "Prices",
    "plans": "Plans",
    "programmes": "Programmes of housing",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input.

    Attributes
    ----------
    section : str
        Heading under which it is listed.
    key, value, unit : str
        As in ``scenario.toml``.
    meaning : str
    origin : str
        :data:`MEASURED`, :data:`PRINTED`, :data:`NOTED` or :data:`ASSUMED`.
    detail : str
        The source in words.
    """

    section: str
    key: str
    value: str
    unit: str
    meaning: str
    origin: str
    detail: str


def inputs_of(folder: ResultFolder) -> list[Input]:
    """List every input of the scenario, the register's first."""
    name = str(folder.facts["read"][0]["name"])
    text = folder.text_of(name) or ""
    settings = folder.scenario.settings
    given: dict[str, Any] = tomllib.loads(text)
    lines = line_index(text)
    used = _used_names(settings)
    reader = _Reader(text=text.splitlines(), lines=lines, file=name, given=given)
    found = [*_register(folder), *_climate_file(folder)]
    for path, value in _leaves(settings.model_dump(by_alias=True), ()):
        if _concerns(path, settings, used):
            found.append(reader.input(path, value))
    return found


def _concerns(path: KeyPath, settings: Settings, used: Mapping[str, set[str]]) -> bool:
    """Whether the key at ``path`` is an input of this scenario: used at all, and by the rule of its plan."""
    section = str(path[0])
    if str(path[-1]) in NO_INPUTS or (section in used and len(path) > 1 and path[1] not in used[section]):
        return False
    if section == "plans" and len(path) > 2:
        of_some_rule = any(path[2] in rule.keys for rule in RULES.values())
        return not of_some_rule or settings.plans[str(path[1])].goes_by(str(path[2]))
    return True


def _used_names(settings: Settings) -> dict[str, set[str]]:
    """Names of the built-in entries that this scenario uses; the others are not its inputs."""
    sorbents = {packet.sorbent for packet in settings.packets.values()}
    indicators = {plan.indicator for plan in settings.plans.values()}
    indicators |= {settings.sorbents[name].indicator for name in sorbents}
    films = {layer.film for kind in settings.kinds.values() for layer in kind.layers}
    return {"sorbents": sorbents, "films": films, "indicators": {name for name in indicators if name is not None}}


def _leaves(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    if isinstance(value, Mapping) and value:
        for key, part in value.items():
            yield from _leaves(part, (*path, key))
    elif isinstance(value, list | tuple) and any(isinstance(part, Mapping) for part in value):
        for place, part in enumerate(value):
            yield from _leaves(part, (*path, place))
    elif value is not None and value not in ({}, (), []):
        yield path, value


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """Knows the scenario's text, and so which keys it gives and what is noted behind them."""

    text: list[str]
    lines: Lines
    file: str
    given: Mapping[str, Any]

    def input(self, path: KeyPath, value: Any) -> Input:
        """Say where one value comes from."""
        origin, detail = self._origin(path)
        section = str(path[0]) if len(path) > 1 else ""
        place = place_of(Settings, path)
        field = place.field if place is not None else None
        return Input(
            section=SECTION_NAMES.get(section, section),
            key=dotted(path),
            value=shown(value),
            unit=unit_text(str(path[-1])),
            meaning=(field.description if field is not None else None) or _meaning_above(path),
            origin=origin,
            detail=detail,
        )

    def _origin(self, path: KeyPath) -> tuple[str, str]:
        line = self._line_of(path)
        if line is not None:
            comment = _comment(self.text[line - 1])
            if comment.lower().startswith("measured"):
                return MEASURED, comment
            if comment:
                return NOTED, comment
            if str(path[-1]) in MEASURED_KEYS:
                return MEASURED, f"line {line}"
        entry = _entry_source(path, self.given)
        if entry:
            return PRINTED, entry
        if line is not None:
            return ASSUMED, f"line {line}"
        return ASSUMED, "the program's own value"

    def _line_of(self, path: KeyPath) -> int | None:
        """Line that gives the value, also where it stands inside a table written on one line."""
        here: Any = self.given
        for key in path:
            try:
                here = here[key]
            except (KeyError, IndexError, TypeError):
                return None
        for depth in range(len(path), 0, -1):
            if path[:depth] in self.lines:
                return self.lines[path[:depth]]
        return None


def _entry_source(path: KeyPath, given: Mapping[str, Any]) -> str:
    """Source that a film, sorbent or indicator carries, built in or written by the user."""
    if str(path[0]) not in ("films", "sorbents", "indicators") or len(path) < 3:
        return ""
    own = given.get(str(path[0]), {}).get(str(path[1]), {})
    if "source" in own:
        return str(own["source"])
    here: Any = own
    for key in path[2:]:
        here = here.get(key) if isinstance(here, Mapping) else None
    if here is not None:
        return ""
    return str(catalogue().get(str(path[0]), {}).get(str(path[1]), {}).get("source", ""))


def _comment(line: str) -> str:
    """Text behind ``#`` on a line of TOML; empty where there is none, or it is inside a string."""
    quote = ""
    for place, sign in enumerate(line):
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "\"'":
            quote = sign
        elif sign == "#":
            return line[place + 1 :].strip() if line[:place].strip() else ""
    return ""


def _meaning_above(path: KeyPath) -> str:
    """Meaning of the nearest key above that has one, for the parts of a distribution."""
    for depth in range(len(path) - 1, 0, -1):
        place = place_of(Settings, path[:depth])
        if place is not None and place.field is not None and place.field.description:
            return place.field.description
    return ""


REGISTER_MEANING: Final = {
    "leak_per_day": "leak of single enclosures, air changes a day",
    "gel_water_pct": "water of the gel at the start, % of dry mass",
    "last_regenerated": "when the gel was last dried",
    "volume_m3": "inside volume",
    "empty_m3": "empty volume",
    "objects": "objects inside",
    "packets": "packets inside",
}
WEIGHED: Final = frozenset({"leak_per_day", "gel_water_pct"})


def _register(folder: ResultFolder) -> Iterator[Input]:
    """Count what the register gives of each enclosure."""
    name = folder.scenario.settings.register_csv
    text = folder.text_of(name) if name is not None else None
    if name is None or text is None:
        return
    sample = text.lstrip("\ufeff")
    first = sample.splitlines()[0] if sample else ""
    delimiter = ";" if first.count(";") > first.count(",") else ","
    rows = list(csv.DictReader(io.StringIO(sample), delimiter=delimiter))
    for column, meaning in REGISTER_MEANING.items():
        count = sum(1 for row in rows if (row.get(column) or "").strip())
        if count:
            measured = column in WEIGHED
            yield Input(
                section="Register",
                key=column,
                value=f"given for {count} of {len(rows)}",
                unit=unit_text(column),
                meaning=meaning,
                origin=MEASURED if measured else NOTED,
                detail=f"{name}, column {column}",
            )


def _climate_file(folder: ResultFolder) -> Iterator[Input]:
    climate = folder.scenario.settings.climate
    file = getattr(climate, "file", None)
    if file is not None:
        yield Input(
            section=SECTION_NAMES["climate"],
            key="climate.file",
            value=str(file),
            unit="",
            meaning="hourly air, as measured or as a typical year",
            origin=MEASURED,
            detail=f"file {file}",
        )


def counted_by_origin(inputs: list[Input]) -> dict[str, int]:
    """Count the inputs of each origin, in a fixed order."""
    return {origin: sum(1 for one in inputs if one.origin == origin) for origin in (MEASURED, PRINTED, NOTED, ASSUMED)}
