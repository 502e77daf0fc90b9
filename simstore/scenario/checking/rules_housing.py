"""Rules about walls, kinds, packets, sorbents and indicators."""

from __future__ import annotations

import math
from collections.abc import Iterator

from simstore.scenario.checking.finding import Finding, KeyPath, shown
from simstore.scenario.checking.view import ROW, View
from simstore.scenario.values.housing import Kind
from simstore.scenario.values.sorbents import DataSheet, Isotherm, Toth

R_V_J_PER_KG_K = 461.52
MOST_PACKETS = 1000
# One per cent of the saturation pressure at 25 degC (3169.7 Pa, ASHRAE 2017 ch. 1 table 3).
ONE_PCT_AT_25_C_PA = 31.697
T_25_C_K = 298.15


def housing_findings(view: View) -> Iterator[Finding]:
    """Every broken rule about what the objects are kept in."""
    yield from _standards(view)
    yield from _kinds(view)
    yield from _layers(view)
    yield from _packets(view)
    yield from _sorbents(view)
    yield from _indicators(view)
    yield from _rows(view)


def _standards(view: View) -> Iterator[Finding]:
    """Refuse limits that leave nothing between them, and a standard that was meant as a share."""
    for name, metal in view.settings.metals.items():
        least_pct = metal.lower_limit_rh_pct
        if least_pct is not None and least_pct >= metal.ceiling_rh_pct:
            rule = f"is not below the ceiling, {metal.ceiling_rh_pct:g} %RH: nothing could be held between them"
            path = ("metals", name, "lower_limit_rh_pct")
            yield Finding(path=path, value=shown(least_pct), rule=rule, cure="lower it, or raise the ceiling")
        if metal.standard_pct <= 1.0:
            rule = "would be kept by a plan that hardly ever holds"
            cure = f"looks like a share; give percent: {100 * metal.standard_pct:g}"
            path = ("metals", name, "standard_pct")
            yield Finding(path=path, value=shown(metal.standard_pct), rule=rule, cure=cure)


def _kinds(view: View) -> Iterator[Finding]:
    for name, kind in view.settings.kinds.items():
        yield from view.unknown("packets", kind.packet, ("kinds", name, "packet"))
        by_weight, by_share = kind.gel_kg_per_m3, kind.gel_pct_of_empty
        if by_weight is not None and by_share is not None:
            rule = "and gel_kg_per_m3 both say how much gel"
            path = ("kinds", name, "gel_pct_of_empty")
            yield Finding(path=path, value=shown(by_share), rule=rule, cure="give one of them")
        filled = by_weight is not None or by_share is not None
        if filled and kind.packet is None:
            key = "gel_kg_per_m3" if by_weight is not None else "gel_pct_of_empty"
            rule = "says how much gel, but the kind has no packet"
            yield Finding(path=("kinds", name, key), rule=rule, cure='add packet = "NAME"')
        if filled and kind.packet in view.settings.packets:
            yield from _too_many(view, name, kind)
        if kind.packet is not None and not filled:
            yield from _too_full(view, kind.packet, kind.packets, kind.volume_m3, ("kinds", name, "packets"))


def _too_many(view: View, name: str, kind: Kind) -> Iterator[Finding]:
    """Refuse a fill that asks for more packets than anybody lays into one enclosure."""
    rooms = [
        row.empty_m3 or (row.volume_m3 or 0.0) * kind.empty_pct / 100.0 for row in view.enclosures if row.kind == name
    ]
    empty_m3 = max([kind.volume_m3 * kind.empty_pct / 100.0, *rooms])
    packet = view.settings.packets[str(kind.packet)]
    sorbent = view.settings.sorbents.get(packet.sorbent)
    if kind.gel_kg_per_m3 is not None:
        key, gel_kg = "gel_kg_per_m3", kind.gel_kg_per_m3 * empty_m3
    else:
        bulk = 0.0 if sorbent is None else sorbent.bulk_kg_per_m3
        key, gel_kg = "gel_pct_of_empty", (kind.gel_pct_of_empty or 0.0) / 100.0 * empty_m3 * bulk
    if gel_kg > MOST_PACKETS * packet.gel_kg:
        rule = (
            f"asks for {gel_kg:.3g} kg of gel in {empty_m3:g} m3, {gel_kg / packet.gel_kg:.0f} packets; more than "
            f"{MOST_PACKETS} are not simulated"
        )
        value = shown(getattr(kind, key))
        yield Finding(path=("kinds", name, key), value=value, rule=rule, cure="larger packets, or less gel")


def _layers(view: View) -> Iterator[Finding]:
    for name, kind in view.settings.kinds.items():
        for position, layer in enumerate(kind.layers):
            path = ("kinds", name, "layers", position)
            yield from view.unknown("films", layer.film, (*path, "film"))
            innermost = position == len(kind.layers) - 1
            if innermost and layer.gap_m3 is not None:
                rule = "the innermost layer encloses the empty volume of the kind, it has no gap"
                cure = "leave it out, or change empty_pct of the kind"
                yield Finding(path=(*path, "gap_m3"), value=shown(layer.gap_m3), rule=rule, cure=cure)
            if not innermost and layer.gap_m3 is None:
                rule = "is missing: leak_per_day counts changes of the air between this layer and the next one in"
                cure = "add gap_m3 = ... (half a litre is 0.0005)"
                yield Finding(path=(*path, "gap_m3"), rule=rule, cure=cure)
            if layer.gap_m3 is not None and layer.gap_m3 > 10 * kind.volume_m3:
                rule = f"is more than ten times the volume of the kind, {kind.volume_m3:g} m3"
                cure = f"looks like litres; divide by 1000: {layer.gap_m3 / 1000:g}"
                yield Finding(path=(*path, "gap_m3"), value=shown(layer.gap_m3), rule=rule, cure=cure)


def _too_full(view: View, packet_name: str, packets: int, volume_m3: float, path: KeyPath) -> Iterator[Finding]:
    """Gel that takes more room than the enclosure has."""
    packet = view.settings.packets.get(packet_name)
    sorbent = view.settings.sorbents.get(packet.sorbent) if packet is not None else None
    if packet is None or sorbent is None:
        return
    gel_m3 = packets * packet.gel_kg / sorbent.bulk_kg_per_m3
    if gel_m3 > volume_m3:
        rule = f"{packets} packets of {packet.gel_kg:g} kg take {gel_m3:.2g} m3, the enclosure has {volume_m3:g} m3"
        yield Finding(
            path=path, value=shown(packets), rule=rule, cure="fewer or smaller packets, or correct the volume"
        )


def _packets(view: View) -> Iterator[Finding]:
    for name, packet in view.settings.packets.items():
        yield from view.unknown("sorbents", packet.sorbent, ("packets", name, "sorbent"))
        if packet.perforation_pct == 0 and packet.film_um > 0 and packet.conductance_kg_per_s_pa is None:
            cure = "give the open share of the face, or film_um = 0 for open-weave cloth"
            yield Finding(
                path=("packets", name, "perforation_pct"),
                value="0",
                rule="nothing gets into a closed packet",
                cure=cure,
            )


def _sorbents(view: View) -> Iterator[Finding]:
    for name, sorbent in view.settings.sorbents.items():
        yield from view.unknown("indicators", sorbent.indicator, ("sorbents", name, "indicator"))
        for branch in ("isotherm", "desorption"):
            isotherm: Isotherm | None = getattr(sorbent, branch)
            path = ("sorbents", name, branch)
            if isinstance(isotherm, DataSheet):
                yield from _rising(isotherm, path)
            if isinstance(isotherm, Toth):
                yield from _henry_constant(isotherm, path)


def _rising(isotherm: DataSheet, path: KeyPath) -> Iterator[Finding]:
    for position, (before, after) in enumerate(zip(isotherm.points, isotherm.points[1:], strict=False), start=1):
        for part, what in ((0, "%RH"), (1, "kg per kg")):
            if after[part] <= before[part]:
                rule = f"{what} must rise from point to point, {after[part]:g} follows {before[part]:g}"
                cure = "sort the points, and leave out repeated ones"
                yield Finding(path=(*path, "points", position), value=shown(after), rule=rule, cure=cure)
    if isotherm.points[-1][1] > 2.0:
        rule = f"{isotherm.points[-1][1]:g} kg of water per kg of gel is more than any gel holds"
        cure = "give kg per kg: 25 % is 0.25"
        yield Finding(path=(*path, "points"), value=shown(isotherm.points[-1]), rule=rule, cure=cure)


def _henry_constant(isotherm: Toth, path: KeyPath) -> Iterator[Finding]:
    """Find a constant printed for kPa and used for Pa: it fills the gel from almost nothing."""
    exponent = min(isotherm.heat_j_per_kg / (R_V_J_PER_KG_K * T_25_C_K), 700.0)
    water = isotherm.k0_kg_per_kg_pa * math.exp(exponent) * ONE_PCT_AT_25_C_PA
    if water > isotherm.capacity_kg_per_kg:
        rule = "would fill the gel below 1 %RH at 25 degC"
        cure = f"perhaps printed for kPa: divide by 1000, {isotherm.k0_kg_per_kg_pa / 1000:g}"
        value = shown(isotherm.k0_kg_per_kg_pa)
        yield Finding(path=(*path, "k0_kg_per_kg_pa"), value=value, rule=rule, cure=cure)


def _indicators(view: View) -> Iterator[Finding]:
    for name, indicator in view.settings.indicators.items():
        if indicator.starts_rh_pct >= indicator.ends_rh_pct:
            rule = f"must be above starts_rh_pct, {indicator.starts_rh_pct:g} %RH"
            yield Finding(
                path=("indicators", name, "ends_rh_pct"),
                value=shown(indicator.ends_rh_pct),
                rule=rule,
                cure="swap them",
            )


def _rows(view: View) -> Iterator[Finding]:
    """Rows of the register whose packets do not fit or do not exist."""
    for position, row in enumerate(view.enclosures):
        kind, metal = view.settings.kinds.get(row.kind), view.settings.metals.get(row.metal)
        least_pct = row.lower_limit_rh_pct
        if metal is not None and least_pct is not None and least_pct >= metal.ceiling_rh_pct:
            rule = f"is not below the ceiling of its metal, {metal.ceiling_rh_pct:g} %RH: nothing could be held"
            cure = "give such finds a metal class of their own, with a ceiling that both can bear"
            yield Finding(path=(ROW, position, "lower_limit_rh_pct"), value=shown(least_pct), rule=rule, cure=cure)
        if kind is None:
            continue
        packet = row.packet or kind.packet
        packets = kind.packets if row.packets is None else row.packets
        if packet is None:
            if row.packets:
                rule = f"neither the row nor kind '{row.kind}' says which packet"
                cure = "fill in the packet, or leave the number empty"
                yield Finding(path=(ROW, position, "packets"), value=str(packets), rule=rule, cure=cure)
            continue
        filled = kind.gel_kg_per_m3 is not None or kind.gel_pct_of_empty is not None
        if filled and row.packets is None:
            continue
        if row.packet is not None or row.packets is not None or row.volume_m3 is not None:
            column = "volume_m3" if row.volume_m3 is not None else "packets" if row.packets is not None else "packet"
            volume_m3 = row.volume_m3 or kind.volume_m3
            yield from _too_full(view, packet, packets, volume_m3, (ROW, position, column))
