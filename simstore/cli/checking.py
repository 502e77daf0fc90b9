"""What ``simstore check`` says about a scenario that is in order."""

from __future__ import annotations

import textwrap
from collections import Counter

from simstore.scenario.scenario import Scenario


def understood(scenario: Scenario) -> str:
    """Say what the scenario holds: store, enclosures by kind and metal, people, ovens, plans, and warnings."""
    settings = scenario.settings
    years = "1 year" if settings.years == 1 else f"{settings.years} years"
    lines = [settings.title]
    if settings.note:
        lines += textwrap.wrap(settings.note, 80)
    lines += [
        "",
        f"{years} from {settings.start.isoformat()}, seed {settings.seed}, climate: {settings.climate.source}",
    ]
    lines += ["", *_counts(scenario), "", *_means(scenario), "", "Plans (* is run when none is named)"]
    width = max(len(name) for name in settings.plans)
    for name, plan in settings.plans.items():
        mark = "*" if name == settings.default_plan else " "
        lines.append(f" {mark} {name:<{width}}  {plan.rule}: {plan.label}")
    notes = list(scenario.notes)
    lines += ["", "No warnings." if not notes else "Warnings"]
    for note in notes:
        lines += textwrap.wrap(note, 80, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)


def _counts(scenario: Scenario) -> list[str]:
    """Lay out the enclosures by kind (rows) and metal class (columns)."""
    counts = Counter((enclosure.kind, enclosure.metal) for enclosure in scenario.enclosures)
    kinds = sorted({kind for kind, _ in counts})
    metals = sorted({metal for _, metal in counts})
    first = max(len("enclosures"), *(len(kind) for kind in kinds))
    widths = [max(len(metal), 6) for metal in [*metals, "all"]]

    def row(head: str, cells: list[str]) -> str:
        return "  ".join([head.ljust(first), *(cell.rjust(width) for cell, width in zip(cells, widths, strict=True))])

    lines = [row("enclosures", [*metals, "all"])]
    for kind in kinds:
        of_kind = [counts[kind, metal] for metal in metals]
        lines.append(row(kind, [str(count) for count in [*of_kind, sum(of_kind)]]))
    by_metal = [sum(counts[kind, metal] for kind in kinds) for metal in metals]
    lines.append(row("all", [str(count) for count in [*by_metal, sum(by_metal)]]))
    ceilings = [f"{scenario.settings.metals[metal].ceiling_rh_pct:g}" for metal in metals]
    standards = [f"{scenario.settings.metals[metal].standard_pct:g}" for metal in metals]
    lines.append(
        row("ceiling, %RH", [*ceilings, ""]) if first >= len("ceiling, %RH") else row("ceiling", [*ceilings, ""])
    )
    lines.append(row("held, %", [*standards, ""]))
    return [line.rstrip() for line in lines]


def _means(scenario: Scenario) -> list[str]:
    """Say who works when, which ovens there are, and what is in stock."""
    settings = scenario.settings
    lines = [f"technician {name}: {', '.join(person.sessions)}" for name, person in settings.technicians.items()]
    lines += [
        f"oven {name}: {oven.count} of {oven.trays} trays, {oven.cycle_h:g} h at {oven.set_c:g} degC"
        for name, oven in settings.ovens.items()
    ]
    lines += [
        f"packet {name}: {packet.gel_kg:g} kg of {packet.sorbent}"
        + (
            f", {settings.stock[name].ready} ready, {settings.stock[name].spent} spent"
            if name in settings.stock
            else ""
        )
        for name, packet in settings.packets.items()
    ]
    return lines
