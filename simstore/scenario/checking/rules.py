"""Cross checks between the tables of a scenario: generators of findings, one idea each."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from simstore.scenario.checking.finding import Finding, KeyPath, shown, suggestion
from simstore.scenario.checking.rules_events import event_findings
from simstore.scenario.checking.rules_housing import housing_findings
from simstore.scenario.checking.rules_uncertain import uncertain_findings
from simstore.scenario.checking.rules_work import work_findings
from simstore.scenario.checking.view import View
from simstore.scenario.values.fields import middle_of
from simstore.scenario.values.groups import group_ids, group_name
from simstore.scenario.values.housing import Group
from simstore.scenario.values.plan import AS_REGISTERED

COLDEST_ROOM_C, HOTTEST_ROOM_C = -40.0, 60.0
"""What the equations of the air and the scenario's loggers cover. [degC]"""
FIRST_YEAR, LAST_YEAR = 1900, 2200
LITRE_SLIP = 100
"""A volume so many times that of its kind was given in litres."""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,39}")


def findings_in(view: View) -> Iterator[Finding]:
    """Every broken rule of a scenario."""
    yield from _names(view)
    yield from _start(view)
    yield from _climate(view)
    yield from _something_to_keep(view)
    yield from _groups(view)
    yield from housing_findings(view)
    yield from work_findings(view)
    yield from event_findings(view)
    yield from _plans(view)
    yield from _cadences(view)
    yield from _reading_rules(view)
    yield from _programmes(view)
    yield from _watched(view)
    yield from uncertain_findings(view)


def _names(view: View) -> Iterator[Finding]:
    """Names of tables, which become parts of dotted keys, ids and file names."""
    for section, names in view.names.items():
        for name in sorted(names):
            if not _NAME.fullmatch(name):
                rule = "a name has 1 to 40 letters, digits, blanks and _ - only, and begins with a letter or digit"
                yield Finding(path=(section, name), value=shown(name), rule=rule, cure="rename it")


def _start(view: View) -> Iterator[Finding]:
    year = view.settings.start.year
    if not FIRST_YEAR <= year <= LAST_YEAR:
        rule = f"must lie in the years {FIRST_YEAR} to {LAST_YEAR}"
        yield Finding(path=("start",), value=shown(view.settings.start), rule=rule, cure="correct the year")


def _climate(view: View) -> Iterator[Finding]:
    climate = view.settings.climate
    if climate.source == "seasonal" and climate.file is not None:
        cure = 'leave it out, or set source = "logger", "epw" or "tmy3"'
        yield Finding(
            path=("climate", "file"), value=shown(climate.file), rule='is not read while source = "seasonal"', cure=cure
        )
    if climate.source != "seasonal" and climate.file is None:
        rule = f'is missing, and source = "{climate.source}" needs it'
        yield Finding(path=("climate", "file"), rule=rule, cure='add file = "NAME.csv" to [climate]')
    if climate.resample_years and climate.source == "seasonal":
        rule = 'needs measured years, but source = "seasonal"'
        cure = "leave it out; year_sd_c and year_sd_rh_pct let seasonal years differ"
        yield Finding(path=("climate", "resample_years"), value="true", rule=rule, cure=cure)
    if climate.source == "seasonal":
        for season, away in (("winter", -climate.temp_swing_c), ("summer", climate.temp_swing_c)):
            temp_c = climate.temp_mean_c + away + climate.shift_c
            if not COLDEST_ROOM_C <= temp_c <= HOTTEST_ROOM_C:
                rule = (
                    f"makes a {season} of {temp_c:g} degC with temp_swing_c = {climate.temp_swing_c:g}; a room is "
                    f"simulated from {COLDEST_ROOM_C:g} to {HOTTEST_ROOM_C:g} degC"
                )
                yield Finding(
                    path=("climate", "temp_mean_c"), value=shown(climate.temp_mean_c), rule=rule,
                    cure="check both: degrees Celsius, and the swing is half of summer minus winter",
                )  # fmt: skip
    room = climate.room
    if room is not None and room.dehumidify_to_pct < 100 and room.dehumidifier_kg_per_day == 0:
        rule = f"is 0, but dehumidify_to_pct is {room.dehumidify_to_pct:g}"
        cure = "give what the dehumidifier takes out in a day, or leave the set point out"
        yield Finding(path=("climate", "room", "dehumidifier_kg_per_day"), value="0", rule=rule, cure=cure)
    if room is not None and room.humidify_to_pct >= room.dehumidify_to_pct:
        rule = f"must be below dehumidify_to_pct, {room.dehumidify_to_pct:g} %RH, or the two fight each other"
        value = shown(room.humidify_to_pct)
        yield Finding(path=("climate", "room", "humidify_to_pct"), value=value, rule=rule, cure="lower it")


def _something_to_keep(view: View) -> Iterator[Finding]:
    if view.settings.register_csv is None and not view.settings.groups and not view.enclosures:
        cure = 'name a CSV file (register = "register.csv") or add [[groups]]'
        yield Finding(path=("register",), rule="is missing and there are no groups: nothing to keep dry", cure=cure)


def _groups(view: View) -> Iterator[Finding]:
    seen: dict[str, int] = {}
    for position, group in enumerate(view.settings.groups):
        path = ("groups", position)
        yield from view.unknown("kinds", group.kind, (*path, "kind"))
        yield from view.unknown("metals", group.metal, (*path, "metal"))
        yield from _group_in_litres(view, group, (*path, "volume_m3"))
        early, late = group.regenerated_days_ago
        if early > late:
            value = shown(group.regenerated_days_ago)
            yield Finding(
                path=(*path, "regenerated_days_ago"), value=value, rule="must rise", cure=f"write [{late:g}, {early:g}]"
            )
        name = group_name(group)
        if name in seen:
            rule = f"two groups are called '{name}'"
            yield Finding(path=path, rule=rule, cure="give one of them another name = ...")
        seen[name] = position
    ids = Counter(row.id for row in view.enclosures)
    for position in seen.values():
        clash = next((key for key in group_ids(view.settings.groups[position]) if key in ids), None)
        if clash is not None:
            rule = f"makes the id '{clash}', which the register has too"
            yield Finding(path=("groups", position), rule=rule, cure="give the group another name = ...")


def _group_in_litres(view: View, group: Group, path: KeyPath) -> Iterator[Finding]:
    kind = view.settings.kinds.get(group.kind)
    median_m3 = None if group.volume_m3 is None else middle_of(group.volume_m3)
    if kind is not None and median_m3 is not None and median_m3 > LITRE_SLIP * kind.volume_m3:
        rule = f"is {median_m3 / kind.volume_m3:.0f} times the volume of its kind, {kind.volume_m3:g} m3"
        cure = f"looks like litres; divide by 1000: {median_m3 / 1000:g}"
        yield Finding(path=path, value=shown(median_m3), rule=rule, cure=cure)


def _plans(view: View) -> Iterator[Finding]:
    settings = view.settings
    if settings.default_plan:
        yield from view.unknown("plans", settings.default_plan, ("default_plan",))
    for name, plan in settings.plans.items():
        if plan.programme != AS_REGISTERED:
            yield from view.unknown("programmes", plan.programme, ("plans", name, "programme"))
        yield from view.unknown("indicators", plan.indicator, ("plans", name, "indicator"))


def _cadences(view: View) -> Iterator[Finding]:
    for name, plan in view.settings.plans.items():
        if not isinstance(plan.cadence_weeks, dict):
            continue
        path = ("plans", name, "cadence_weeks")
        for metal in plan.cadence_weeks:
            yield from view.unknown("metals", metal, (*path, metal))
        for metal in sorted(view.used_metals() - set(plan.cadence_weeks)):
            rule = f"says nothing about '{metal}'"
            yield Finding(path=path, value=shown(plan.cadence_weeks), rule=rule, cure=f"add {metal} = 13")


def _reading_rules(view: View) -> Iterator[Finding]:
    """Refuse a plan that reads something where nothing can be read."""
    for name, plan in view.settings.plans.items():
        if not plan.goes_by("indicator") or plan.indicator is not None:
            continue
        for key in sorted(view.used_sorbents()):
            sorbent = view.settings.sorbents.get(key)
            if sorbent is not None and sorbent.indicator is None:
                rule = f"rule = \"{plan.rule}\", but sorbent '{key}' has no indicator to read"
                cure = f'add indicator = "strip_10" to the plan, or an indicator to [sorbents.{key}]'
                yield Finding(path=("plans", name, "rule"), value=shown(plan.rule), rule=rule, cure=cure)


def _programmes(view: View) -> Iterator[Finding]:
    for name, programme in view.settings.programmes.items():
        path = ("programmes", name, "replace")
        if name == AS_REGISTERED and programme.replace:
            rule = f"'{AS_REGISTERED}' leaves every object where it is, it cannot replace kinds"
            yield Finding(path=path, value=shown(programme.replace), rule=rule, cure="give the programme another name")
        for old, new in programme.replace.items():
            yield from view.unknown("kinds", old, (*path, old))
            yield from view.unknown("kinds", new, (*path, old))


def _watched(view: View) -> Iterator[Finding]:
    """Refuse watched enclosures that no row and no group makes; arrivals get their ids in the run."""
    settings = view.settings
    if not settings.watch or settings.arrivals or not view.all_rows:
        return
    ids = {row.id for row in view.enclosures} | {key for group in settings.groups for key in group_ids(group)}
    for position, name in enumerate(settings.watch):
        if name not in ids:
            cure = suggestion(name, ids, known_as="enclosures of the scenario")
            yield Finding(path=("watch", position), value=shown(name), rule="is not the id of an enclosure", cure=cure)
