"""Cautions that go with each kind of work, worded once for the terminal and the page.

None of them replaces a data sheet, a risk assessment or licensed practice, and each list of them ends by saying so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, NamedTuple

from simstore.prose.blocks import Block, Cautions
from simstore.prose.phrases import listed
from simstore.results.summary import Measured
from simstore.scenario.checking.notes import CARCINOGEN
from simstore.scenario.values.settings import Settings


class Caution(NamedTuple):
    """What to take care of in one kind of work: a word for it, and sentences."""

    action: str
    text: str


HEAT: Final = Caution(
    "Drying",
    "Ovens, trays and gel burn the skin. Stay below the temperature that the data sheets of gel, indicator and packet "
    "allow: hotter spoils them and may give off fumes. Let a load cool before it is handled, wear heat-proof gloves, "
    "and never use the oven for food or dry objects in it.",
)
ALONE: Final = Caution(
    "Ovens left alone",
    "Heating while nobody is there is for your fire officer and insurer to allow. Use an oven with its own "
    "over-temperature cut-out, and keep what burns away from it.",
)
LOOSE_GEL: Final = Caution(
    "Handling",
    "Gel dust irritates eyes, skin and airways, and dries the skin. Fill and empty packets where dust is drawn off, "
    "and wear the gloves, dust mask and eye protection that the data sheet asks for. Indicators differ in their dye, "
    "and free of cobalt is not free of harm: go by the data sheet of yours.",
)
BAGGING: Final = Caution(
    "Bagging up",
    "Corroded metal cuts gloves and bags, and lead, its corrosion products and the residues of old treatments are "
    "poisonous: wear gloves, wash your hands, and look up what was done to the object. Put no hot gel into plastic, "
    "and spread repetitive work over the day.",
)
LIQUID: Final = Caution(
    "Liquid water",
    "At some time more water comes into an enclosure than its air and gel can take, so that drops form inside; the "
    "table of enclosures says where. Wet metal corrodes at once, and gel beads that are wetted burst. Let finds dry "
    "before they are packed, and look at those enclosures first (common practice, no source).",
)
DRY_AIR: Final = Caution(
    "Dry air",
    "Gel dries whatever is in the enclosure. Finds that carry remains of wood, leather, textile, bone or ivory, and "
    "objects made of several materials, may crack, shrink or flake in such dry air: somebody who knows them must "
    "decide for each before it is packed (common practice, no source).",
)
LOWER_BOUND: Final = Caution(
    "Wide-range gel",
    "What {gels} holds is taken from the least that a standard accepts, and is not a measured gel: yours will hold "
    "more, so that exchanges and gel come out too many. Give the table of your own data sheet before you buy.",
)
# Hazard statements of the harmonised classification of cobalt dichloride in the EU; from memory.
COBALT: Final = Caution(
    "Cobalt",
    f"Gel that turns from blue to pink holds cobalt dichloride, {CARCINOGEN}: it may cause cancer by inhalation "
    "(H350i), may damage fertility (H360F), is suspected of causing genetic defects (H341), may cause allergies of "
    "airways and skin (H334, H317), is harmful if swallowed (H302), and is very toxic to aquatic life with long "
    "lasting effects (H410). Make no dust of it, wear gloves and a dust mask, heat it only as "
    "its safety data sheet allows, and have it taken away as hazardous waste by a licensed carrier.",
)
LAST_WORD: Final = (
    "These are figures from a model, not instructions: data sheets, your local rules and risk assessment, and licensed "
    "practice come first. Check the humidity inside with loggers before you rely on the plan."
)


def cautions(plans: Iterable[tuple[Mapping[str, Measured], Settings]]) -> list[Block]:
    """List the cautions that the work of plans needs, each once; nothing where nobody handles or heats anything.

    Parameters
    ----------
    plans : iterable of (mapping of str to Measured, Settings)
        Metrics of each plan, and the settings with its own changes made.
    """
    found = [
        caution
        for metrics, settings in plans
        for caution in work_cautions(
            settings,
            heats=metrics["loads"].estimate.mean > 0,
            handles=metrics["exchanges"].estimate.mean > 0,
            drips="liquid_water_h" in metrics and metrics["liquid_water_h"].estimate.mean > 0,
        )
    ]
    return caution_blocks(found)


def caution_blocks(found: Iterable[Caution]) -> list[Block]:
    """List cautions, each once, with the last word; nothing where there are none."""
    points = [(f"{one.action}:", one.text) for one in dict.fromkeys(found)]
    return [Cautions(points=[*points, ("", LAST_WORD)])] if points else []


def work_cautions(settings: Settings, *, heats: bool, handles: bool, drips: bool = False) -> list[Caution]:
    """Cautions for the work of a plan; say `LAST_WORD` after them.

    Parameters
    ----------
    settings : Settings
        With the plan's own changes made.
    heats, handles : bool
        Whether the plan's work takes oven loads, and whether it exchanges or packs gel.
    drips : bool
        Whether liquid water stands in an enclosure at any time.
    """
    found = [LIQUID] if drips else []
    if heats:
        found.append(HEAT)
        if any(oven.count and not oven.attended for oven in settings.ovens.values()):
            found.append(ALONE)
    if handles:
        found += [LOOSE_GEL, BAGGING, DRY_AIR]
    if cobalt_gels(settings):
        found.append(COBALT)
    bounds = bounded_gels(settings)
    if bounds and handles:
        found.append(LOWER_BOUND._replace(text=LOWER_BOUND.text.format(gels=listed(bounds))))
    return found


def bounded_gels(settings: Settings) -> list[str]:
    """Labels of gels in the scenario's packets whose isotherm is a lower bound."""
    gels = (settings.sorbents[packet.sorbent] for packet in settings.packets.values())
    return list(dict.fromkeys(gel.label for gel in gels if gel.lower_bound))


def cobalt_gels(settings: Settings) -> list[str]:
    """Labels of what carries cobalt: gels in the scenario's packets, and indicators that a plan has people read."""
    gels = (settings.sorbents[packet.sorbent] for packet in settings.packets.values())
    mixed_in = [(gel.label, gel.indicator) for gel in gels]
    read = [plan.indicator for plan in settings.plans.values() if plan.goes_by("indicator")]
    beside = [(settings.indicators[name].label, name) for name in read if name is not None]
    labels = (
        label
        for label, name in (*mixed_in, *beside)
        if name is not None and settings.indicators[name].hazard == "cobalt"
    )
    return list(dict.fromkeys(labels))
