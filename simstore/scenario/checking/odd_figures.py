"""Figures that are allowed but look like a slip of the unit: each yields a sentence for the user to think about."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta

from simstore.scenario.checking.view import View
from simstore.scenario.values.fields import middle_of
from simstore.scenario.values.work import Technician

THINNEST_UM = 5.0
"""Thinner than any film that bags are made of; common practice, no source."""
UNLIKE_ITS_KIND = 20.0
"""A volume or leak so many times that of its kind, or so small a part of it, is probably a slip."""
MOST_NAMED = 3
DRIEST_GEL_PCT = 0.5
"""Water, % of dry mass, that an oven leaves at least; common practice, no source."""
DEAREST_HOUR = 400.0
LONGEST_WEEKS, NEVER_WEEKS = 78.0, 400.0
"""A cadence between these was probably meant in days; a longer one means never."""
HELD_SHARE = 0.4
"""Water that gel takes at most, as a share of its dry mass."""


def odd_figures_in(view: View) -> Iterator[str]:
    """Yield a sentence for each figure that looks like a slip."""
    yield from _shares(view)
    yield from _kinds(view)
    yield from _register(view)
    yield from _water_shares(view)
    yield from _leave(view)
    yield from _wages(view)
    yield from _cadences(view)
    yield from _nobody_there(view)
    yield from _wet_finds(view)


def _shares(view: View) -> Iterator[str]:
    """Percentages that are 1 or less where nobody would want that."""
    settings = view.settings
    figures = {f"metals.{name}.ceiling_rh_pct": metal.ceiling_rh_pct for name, metal in settings.metals.items()}
    figures |= {f"kinds.{name}.empty_pct": kind.empty_pct for name, kind in settings.kinds.items()}
    figures |= {
        f"plans.{name}.trigger_pct": plan.trigger_pct
        for name, plan in settings.plans.items()
        if plan.goes_by("trigger_pct")
    }
    if settings.climate.source == "seasonal":
        figures["climate.rh_mean_pct"] = settings.climate.rh_mean_pct
    for key, value in figures.items():
        if 0.0 < value <= 1.0:
            yield f"{key} = {value:g} looks like a share; it is in percent: {100 * value:g}"


def _water_shares(view: View) -> Iterator[str]:
    """Weighed water that is in all rows less than any gel can be dried to."""
    weighed = [row.gel_water_pct for row in view.enclosures if row.gel_water_pct is not None]
    if len(weighed) >= MOST_NAMED and 0.0 < max(weighed) <= DRIEST_GEL_PCT:
        yield (
            f"gel_water_pct in the register is {max(weighed):g} at most, in {len(weighed)} rows: it looks like a "
            "share; it is in percent of dry mass"
        )


def _wages(view: View) -> Iterator[str]:
    for name, person in view.settings.technicians.items():
        if person.wage_per_h > DEAREST_HOUR:
            yield (
                f"technicians.{name}.wage_per_h = {person.wage_per_h:g} {view.settings.prices.currency} an hour: it "
                "looks like cents, a day's or a month's pay"
            )


def _cadences(view: View) -> Iterator[str]:
    for name, plan in view.settings.plans.items():
        weeks = plan.cadence_weeks
        each = weeks if isinstance(weeks, dict) else {"": weeks}
        for metal, longest in each.items():
            if LONGEST_WEEKS < longest < NEVER_WEEKS:
                key = f"plans.{name}.cadence_weeks{'.' + metal if metal else ''}"
                yield f"{key} = {longest:g} is {longest / 52:.1f} years; {longest:g} days are {longest / 7:.0f} weeks"


def _nobody_there(view: View) -> Iterator[str]:
    """Say that nobody is at work on any day of the run."""
    start, end = view.run_days()
    people = view.settings.technicians
    here = [name for name, person in people.items() if person.sessions and _is_there(person, start, end)]
    if not here:
        why = "there is no technician" if not people else "all technicians are away or without sessions on every day"
        yield f"{why}: nobody exchanges gel in the whole run, and the costs are those of doing nothing"


def _is_there(person: Technician, start: date, end: date) -> bool:
    day = max(start, person.starts or start)
    while day < end:
        away = [last for first, last in person.leave if first <= day <= last]
        if not away:
            return True
        if max(away) == date.max:
            return False
        day = max(away) + timedelta(days=1)
    return False


def _wet_finds(view: View) -> Iterator[str]:
    """Objects that give off more water than the gel beside them can hold."""
    settings = view.settings
    waters = [
        (f"arrivals.{place}.object_water_g", batch.kind, batch.object_water_g)
        for place, batch in enumerate(settings.arrivals)
    ]
    waters += [(f"kinds.{name}.object_water_g", name, kind.object_water_g) for name, kind in settings.kinds.items()]
    for key, name, water_g in waters:
        kind = settings.kinds.get(name)
        if kind is None or kind.packet is None or kind.packet not in settings.packets:
            continue
        gel_g = 1000.0 * settings.packets[kind.packet].gel_kg * max(kind.packets, 1)
        if water_g > HELD_SHARE * gel_g:
            yield (
                f"{key} = {water_g:g} g is more than the {gel_g:g} g of gel beside it can take: the find stays wet, "
                "and drops form inside; let finds dry before they are packed, or check the unit"
            )


def _kinds(view: View) -> Iterator[str]:
    for name, kind in view.settings.kinds.items():
        # No body has more volume for its surface than a sphere: V = A^1.5 / (6 sqrt(pi)).
        area_m2 = kind.layers[-1].area_m2
        most_m3 = area_m2**1.5 / (6.0 * math.sqrt(math.pi))
        if kind.volume_m3 > most_m3:
            yield (
                f"[kinds.{name}] has a volume of {kind.volume_m3:g} m3, but a wall of {area_m2:g} m2 encloses "
                f"{most_m3:.2g} m3 at most: 5 litres are 0.005 m3, 100 cm2 are 0.01 m2"
            )
        for place, layer in enumerate(kind.layers):
            if layer.thickness_um < THINNEST_UM:
                yield (
                    f"kinds.{name}.layers.{place}.thickness_um = {layer.thickness_um:g} is thinner than any bag: "
                    f"{layer.thickness_um:g} mm are {1000 * layer.thickness_um:g} micrometres"
                )


def _register(view: View) -> Iterator[str]:
    """Rows whose volume or leak is quite unlike that of their kind."""
    odd: dict[str, list[str]] = {"volume_m3": [], "leak_per_day": []}
    for row in view.enclosures:
        kind = view.settings.kinds.get(row.kind)
        if kind is None:
            continue
        usual = {"volume_m3": kind.volume_m3, "leak_per_day": middle_of(kind.layers[-1].leak_per_day)}
        for key, found in odd.items():
            own = getattr(row, key)
            if own is not None and usual[key] > 0 and not 1 / UNLIKE_ITS_KIND < own / usual[key] < UNLIKE_ITS_KIND:
                found.append(f"'{row.id}' ({own:g}, its kind {usual[key]:g})")
    for key, found in odd.items():
        if found:
            more = f" and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
            yield f"{key} in the register is quite unlike that of the kind: {', '.join(found[:MOST_NAMED])}{more}"


def _leave(view: View) -> Iterator[str]:
    start, end = view.run_days()
    if end == date.max:
        return
    last = end - timedelta(days=1)
    for name, person in view.settings.technicians.items():
        for first_day, last_day in person.leave:
            if last_day < start or first_day > last:
                yield (
                    f"technicians.{name}.leave from {first_day} to {last_day} lies outside the run, {start} to {last}"
                )
