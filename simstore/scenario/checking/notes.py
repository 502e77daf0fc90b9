"""Notes on a scenario that is allowed: what its user should know before believing a run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from simstore.scenario.checking.view import View
from simstore.scenario.values.housing import Enclosure

CARCINOGEN: Final = "a carcinogen (EU candidate list of substances of very high concern)"

MOST_NAMED: Final = 3


def notes_on(view: View) -> Iterator[str]:
    """Yield a sentence for each thing that the user should know before believing a run."""
    yield from _unfilled(view)
    yield from _undated(view)
    yield from _without_gel(view)
    yield from _late_indicators(view)
    yield from _cobalt(view)
    yield from _free_gel(view)
    yield from _free_hazard(view)


def _unfilled(view: View) -> Iterator[str]:
    """Name rows that say that nothing is in them: nobody will ever fill these."""
    rows = [row for row in view.enclosures if row.packets == 0]
    if rows:
        yield (
            f"{_rows_said(rows)} packets = 0 in the register: they are never filled, under no plan, and soon as damp "
            "as the room; leave the cell empty for as many as their kind has, with last_regenerated empty if there is "
            "nothing in them yet"
        )


def _undated(view: View) -> Iterator[str]:
    """Name rows whose gel has no date: it counts as never dried."""
    rows = [
        row
        for row in view.enclosures
        if row.last_regenerated is None and row.gel_water_pct is None and row.packets != 0
    ]
    if rows:
        yield (
            f"{_rows_said(rows)} neither last_regenerated nor gel_water_pct: their gel counts as damp as the room "
            "from the first day, and they are over their ceiling until it is changed; if it was dried, give the day "
            "as well as you know it"
        )


def _without_gel(view: View) -> Iterator[str]:
    """Name batches of new finds for which there is no gel, and none is ever ordered."""
    settings = view.settings
    for number, batch in enumerate(settings.arrivals, start=1):
        kind = settings.kinds.get(batch.kind)
        if kind is None:
            continue
        if kind.packet is None or (kind.packets == 0 and kind.gel_kg_per_m3 is None and kind.gel_pct_of_empty is None):
            yield f"arrivals {number} ({batch.arrives}): no packet belongs in {batch.kind}: they never get any gel"
            continue
        needed, stock = batch.count * max(kind.packets, 1), settings.stock.get(kind.packet)
        there = 0 if stock is None else stock.ready + stock.spent
        if there < needed and (stock is None or not stock.packets_ordered):
            yield (
                f"arrivals {number} ({batch.arrives}): {batch.count} enclosures need {needed} packets '{kind.packet}'; "
                f"{there} lie outside enclosures at the start and none are ever ordered, so that these finds wait for "
                f"gel, or others do; give [stock.{kind.packet}] more, or an order_quantity"
            )


def _rows_said(rows: Sequence[Enclosure]) -> str:
    names = ", ".join(row.id for row in rows[:MOST_NAMED])
    if len(rows) == 1:
        return f"enclosure {names} has"
    return f"{len(rows)} enclosures ({names}{', ...' if len(rows) > MOST_NAMED else ''}) have"


def _free_hazard(view: View) -> Iterator[str]:
    """Hazardous waste that costs nothing is a cost that nobody has asked for."""
    settings = view.settings
    cobalt = any(
        settings.indicators[key].hazard == "cobalt"
        for key in {settings.sorbents[name].indicator for name in view.used_sorbents()}
        if key is not None
    )
    if cobalt and settings.prices.hazardous_disposal_per_kg == 0:
        yield "prices.hazardous_disposal_per_kg is 0: taking cobalt-bearing gel away costs something; ask the carrier"


def _late_indicators(view: View) -> Iterator[str]:
    """Name indicators that begin to turn above a ceiling: they speak when it is too late."""
    settings = view.settings
    for name, plan in settings.plans.items():
        if not plan.goes_by("indicator"):
            continue
        read = {plan.indicator} if plan.indicator else {settings.sorbents[s].indicator for s in view.used_sorbents()}
        for key in sorted(indicator for indicator in read if indicator is not None):
            starts_pct = settings.indicators[key].starts_rh_pct
            for metal in sorted(view.used_metals()):
                ceiling_pct = settings.metals[metal].ceiling_rh_pct
                if starts_pct >= ceiling_pct:
                    yield (
                        f"plan '{name}' reads '{key}', which begins to turn at {starts_pct:g} %RH: "
                        f"too late for '{metal}' with its ceiling of {ceiling_pct:g} %RH"
                    )


def _cobalt(view: View) -> Iterator[str]:
    settings = view.settings
    read = {plan.indicator for plan in settings.plans.values() if plan.goes_by("indicator")}
    mixed_in = {settings.sorbents[name].indicator for name in view.used_sorbents()}
    for key in sorted(name for name in read | mixed_in if name is not None):
        if settings.indicators[key].hazard == "cobalt":
            yield (
                f"indicator '{key}' holds cobalt dichloride, {CARCINOGEN}: gloves and dust mask, hazardous disposal; "
                "the supplier's safety data sheet and your local rules come first"
            )


def _free_gel(view: View) -> Iterator[str]:
    for name in sorted(view.used_sorbents()):
        if view.settings.sorbents[name].price_per_kg == 0:
            yield f"[sorbents.{name}] has no price_per_kg: costs leave the gel out"
