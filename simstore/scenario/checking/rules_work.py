"""Rules about people, ovens and stock: work that could never be done is refused before the run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from simstore.scenario.checking.finding import Finding, KeyPath, shown
from simstore.scenario.checking.view import View
from simstore.scenario.values.sessions import WEEKDAYS, Session, longest_attendance_min, parse_session
from simstore.scenario.values.work import Technician
from simstore.units import MINUTES_PER_HOUR


def work_findings(view: View) -> Iterator[Finding]:
    """Every broken rule about who works when and with what."""
    yield from _holidays(view)
    yield from _technicians(view)
    yield from _tasks(view)
    yield from _oven_heat(view)
    yield from _oven_room(view)
    yield from _attended_ovens(view)
    yield from _stock(view)


def _holidays(view: View) -> Iterator[Finding]:
    for day, times in Counter(view.settings.holidays).items():
        if times > 1:
            yield Finding(path=("holidays",), value=shown(day), rule=f"stands {times} times", cure="keep one")


def _technicians(view: View) -> Iterator[Finding]:
    settings = view.settings
    if not view.names["technicians"] and settings.plans:
        cure = 'add [technicians.NAME] with sessions = ["Tue 09:00-12:30"]'
        yield Finding(path=("technicians",), rule="is missing: every rule of a plan needs somebody to do it", cure=cure)
    for name, person in settings.technicians.items():
        path = ("technicians", name)
        if not person.sessions:
            cure = 'write sessions = ["Tue 09:00-12:30"], or delete the table'
            yield Finding(path=(*path, "sessions"), value="[]", rule="is empty: this person never works", cure=cure)
        yield from _sessions(person, (*path, "sessions"))
        yield from _leave(person.leave, (*path, "leave"))


def _sessions(person: Technician, path: KeyPath) -> Iterator[Finding]:
    read: list[tuple[Session, str]] = []
    for position, text in enumerate(person.sessions):
        try:
            read.append((parse_session(text), text))
        except ValueError as error:
            cure = 'write it as "Tue 09:00-12:30"'
            yield Finding(path=(*path, position), value=shown(text), rule=str(error), cure=cure)
    read.sort()
    for ((day, _, end_min), first), ((next_day, start_min, _), second) in pairwise(read):
        if day == next_day and start_min < end_min:
            rule = f'overlaps "{first}" on {WEEKDAYS[day]}'
            yield Finding(path=path, value=shown(second), rule=rule, cure="join the two, or part them")


def _leave(spans: tuple[tuple[date, date], ...], path: KeyPath) -> Iterator[Finding]:
    for position, (first, last) in enumerate(spans):
        if last < first:
            value = shown(spans[position])
            yield Finding(path=(*path, position), value=value, rule="ends before it begins", cure="swap the two days")
    ordered = sorted(spans)
    for (_, last), following in pairwise(ordered):
        if following[0] <= last:
            yield Finding(
                path=path, value=shown(following), rule=f"begins before the one to {last} ends", cure="join them"
            )


def _all_sessions(view: View) -> list[Session]:
    """Sessions of everybody that can be read."""
    sessions = []
    for person in view.settings.technicians.values():
        for text in person.sessions:
            try:
                sessions.append(parse_session(text))
            except ValueError:
                continue
    return sessions


def _tasks(view: View) -> Iterator[Finding]:
    """Tasks that are longer than the longest session of any one person."""
    sessions = _all_sessions(view)
    if not sessions:
        return
    longest_min = max(end_min - start_min for _, start_min, end_min in sessions)
    tasks = view.settings.tasks
    for key in ("exchange_min", "load_min", "unload_min"):
        whole_min = tasks.gear_min + float(getattr(tasks, key))
        if whole_min > longest_min:
            rule = f"with gear_min is {whole_min:g} min, the longest session is {longest_min} min: never done"
            value = shown(getattr(tasks, key))
            yield Finding(path=("tasks", key), value=value, rule=rule, cure="give minutes, or lengthen a session")


def _oven_heat(view: View) -> Iterator[Finding]:
    """Ovens hotter than what is dried in them bears."""
    for oven_name, oven in view.settings.ovens.items():
        for name in sorted(view.used_sorbents()) if oven.count else ():
            sorbent = view.settings.sorbents.get(name)
            if sorbent is None:
                continue
            limits = [(sorbent.max_c, f"sorbent '{name}'", "")]
            indicator = view.settings.indicators.get(sorbent.indicator or "")
            if indicator is not None:
                cobalt = "; it holds cobalt dichloride, a carcinogen" if indicator.hazard == "cobalt" else ""
                limits.append((indicator.max_c, f"indicator '{sorbent.indicator}' in '{name}'", cobalt))
            limit_c, what, hazard = min(limits)
            if oven.set_c > limit_c:
                rule = f"is hotter than {what} bears, {limit_c:g} degC: heating destroys it{hazard}"
                cure = f"set {limit_c:g} or less, and follow the supplier's data sheet"
                yield Finding(path=("ovens", oven_name, "set_c"), value=shown(oven.set_c), rule=rule, cure=cure)


def _oven_room(view: View) -> Iterator[Finding]:
    """Packets that fit into no oven would wait for ever."""
    ovens = [oven for oven in view.settings.ovens.values() if oven.count]
    if not ovens or len(view.settings.ovens) < len(view.names["ovens"]):
        return
    for name in sorted(view.used_packets()):
        packet = view.settings.packets.get(name)
        sorbent = view.settings.sorbents.get(packet.sorbent) if packet is not None else None
        if packet is None or sorbent is None:
            continue
        largest_kg = max(oven.load_kg(sorbent.bulk_kg_per_m3) for oven in ovens)
        if packet.gel_kg > largest_kg:
            rule = f"does not fit into any oven, the largest takes {largest_kg:.3g} kg"
            cure = "smaller packets, or more trays, tray_area_m2 or bed_depth_mm"
            yield Finding(path=("packets", name, "gel_kg"), value=shown(packet.gel_kg), rule=rule, cure=cure)


def _attended_ovens(view: View) -> Iterator[Finding]:
    """Attended ovens that need longer than somebody is ever there."""
    sessions = _all_sessions(view)
    if not sessions or len(view.settings.technicians) < len(view.names["technicians"]):
        return
    longest_min = longest_attendance_min(sessions)
    for name, oven in view.settings.ovens.items():
        hot_min = oven.warm_up_min + oven.cycle_h * MINUTES_PER_HOUR
        if oven.count and oven.attended and hot_min > longest_min:
            rule = f"needs somebody for {hot_min:g} min while it is hot, the longest attendance is {longest_min} min"
            cure = "lengthen a session, shorten cycle_h, or attended = false if your rules let it run alone"
            yield Finding(path=("ovens", name, "attended"), value="true", rule=rule, cure=cure)


def _stock(view: View) -> Iterator[Finding]:
    for name, stock in view.settings.stock.items():
        yield from view.unknown("packets", name, ("stock", name))
        if stock.reorder_point > 0 and stock.order_quantity == 0:
            rule = f"is 0, but reorder_point is {stock.reorder_point}"
            cure = "give how many packets an order brings, or reorder_point = 0 for never"
            yield Finding(path=("stock", name, "order_quantity"), value="0", rule=rule, cure=cure)
        for position, (before, after) in enumerate(pairwise(stock.price_breaks), start=1):
            if after[0] <= before[0]:
                rule = f"quantities must rise, {after[0]} follows {before[0]}"
                path = ("stock", name, "price_breaks", position)
                yield Finding(path=path, value=shown(after), rule=rule, cure="sort the pairs by quantity")
