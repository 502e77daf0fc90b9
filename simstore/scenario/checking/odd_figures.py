"""Figures that are allowed but look like a slip of the unit: each yields a sentence for the user to think about."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta

from simstore.scenario.checking.view import View
from simstore.scenario.values.fields import middle_of

THINNEST_UM = 5.0
"""Thinner than any film that bags are made of; common practice, no source."""
UNLIKE_ITS_KIND = 20.0
"""A volume or leak so many times that of its kind, or so small a part of it, is probably a slip."""
MOST_NAMED = 3


def odd_figures_in(view: View) -> Iterator[str]:
    """Yield a sentence for each figure that looks like a slip."""
    yield from _shares(view)
    yield from _kinds(view)
    yield from _register(view)
    yield from _leave(view)


def _shares(view: View) -> Iterator[str]:
    """Percentages that are 1 or less where nobody would want that."""
    figures = {f"metals.{name}.ceiling_rh_pct": metal.ceiling_rh_pct for name, metal in view.settings.metals.items()}
    if view.settings.climate.source == "seasonal":
        figures["climate.rh_mean_pct"] = view.settings.climate.rh_mean_pct
    for key, value in figures.items():
        if value <= 1.0:
            yield f"{key} = {value:g} looks like a share; it is in percent: {100 * value:g}"


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
