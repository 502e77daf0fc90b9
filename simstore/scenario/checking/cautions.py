"""What should give pause: notes on a scenario that is allowed, and the cautions that go with each kind of work.

The cautions are worded here once, for the terminal and the report. None of them replaces a data sheet, a risk
assessment or licensed practice, and each list of them ends by saying so.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from simstore.scenario.checking.view import View
from simstore.scenario.values.settings import Settings

CARCINOGEN: Final = "a carcinogen (EU candidate list of substances of very high concern)"


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
DRY_AIR: Final = Caution(
    "Dry air",
    "Gel dries whatever is in the enclosure. Finds that carry remains of wood, leather, textile, bone or ivory, and "
    "objects made of several materials, may crack, shrink or flake in such dry air: somebody who knows them must "
    "decide for each before it is packed (common practice, no source).",
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


def work_cautions(settings: Settings, *, heats: bool, handles: bool) -> list[Caution]:
    """Cautions for the work of a plan; say `LAST_WORD` after them.

    Parameters
    ----------
    settings : Settings
        With the plan's own changes made.
    heats, handles : bool
        Whether the plan's work takes oven loads, and whether it exchanges or packs gel.
    """
    found = []
    if heats:
        found.append(HEAT)
        if any(oven.count and not oven.attended for oven in settings.ovens.values()):
            found.append(ALONE)
    if handles:
        found += [LOOSE_GEL, BAGGING, DRY_AIR]
    if cobalt_gels(settings):
        found.append(COBALT)
    return found


def cobalt_gels(settings: Settings) -> list[str]:
    """Labels of the gels in the scenario's packets that carry a cobalt indicator."""
    gels = (settings.sorbents[packet.sorbent] for packet in settings.packets.values())
    labels = (
        gel.label for gel in gels if gel.indicator is not None and settings.indicators[gel.indicator].hazard == "cobalt"
    )
    return list(dict.fromkeys(labels))


def cautions_in(view: View) -> Iterator[str]:
    """Yield a sentence for each thing that the user should know before believing a run."""
    yield from _late_indicators(view)
    yield from _cobalt(view)
    yield from _free_gel(view)


def _late_indicators(view: View) -> Iterator[str]:
    """Name indicators that begin to turn above a ceiling: they speak when it is too late."""
    settings = view.settings
    for name, plan in settings.plans.items():
        if plan.rule != "reading":
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
    read = {plan.indicator for plan in settings.plans.values() if plan.rule == "reading"}
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
