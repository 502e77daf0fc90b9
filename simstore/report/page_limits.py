"""What the report does not know, and what to take care of: worded by us, deferring to data sheets and local rules."""

from __future__ import annotations

from typing import Final

from simstore.report.page_parts import Names, Points, Section, Text
from simstore.report.result_folder import ResultFolder

NOT_MODELLED: Final = (
    (
        "Corrosion itself.",
        (
            "A day under the ceiling counts as held, whatever the object, its salts and its history. The ceilings"
            " and the standard are your choice; the model only says how often they are kept."
        ),
    ),
    (
        "Places inside an enclosure.",
        (
            "Its air is one well-mixed volume at the temperature of the room: no cold corner, no condensation, no"
            " damp spot under an object."
        ),
    ),
    (
        "Wear of walls and seals.",
        (
            "Between failures an enclosure leaks the same all the time. Leaks that were not measured are drawn "
            "from the spread of their kind, independent of one another."
        ),
    ),
    (
        "Everything but water.",
        "Oxygen, pollutants, vapours given off by packing, light, pests and fire are left out.",
    ),
    (
        "People beyond their sessions.",
        (
            "Nobody is slower on a bad day, forgets an enclosure or puts in the wrong packet; only misread "
            "indicators are simulated. Other work of the store is not in competition with this one."
        ),
    ),
    (
        "Money beyond the list.",
        "No inflation, tax, building, shelving, transport, treatment of objects, or worth of what is kept from harm.",
    ),
    (
        "Whether the inputs are right.",
        (
            "Limits of 95 % speak of the luck of the simulated years only. An input that is wrong moves all of "
            "them; measure first what the decision hangs on."
        ),
    ),
)


def limits_section(folder: ResultFolder, names: Names) -> Section:
    """List what is not modelled, and what reading the data had to do to them."""
    blocks = [Points(points=NOT_MODELLED)]
    notes = folder.scenario.notes
    if notes:
        blocks.append(Points(points=[("On your data.", note) for note in notes]))
    return Section(id=names.of("limits"), title="What is not modelled", blocks=blocks)


def cautions_section(folder: ResultFolder, plan: str, names: Names) -> Section:
    """Write the cautions that the plan's work calls for."""
    settings = folder.settings_of(plan)
    points = [
        (
            "Heat.",
            (
                "Ovens, trays and gel burn the skin. Dry below the limits that the data sheets of gel, indicator "
                "and packet give; hotter spoils them and may give off fumes. Let a load cool before it is "
                "handled, and wear heat-proof gloves."
            ),
        ),
        (
            "Ovens left alone.",
            (
                "Heating while nobody is there is for your fire officer and insurer to allow, not for this "
                "report. Use an oven with its own over-temperature cut-out, keep what burns away from it, and "
                "never dry objects in it."
            ),
        ),
        (
            "Dust.",
            (
                "Dust of silica gel irritates eyes, skin and airways, and dries the skin. Fill and empty packets "
                "where dust is drawn off; wear the gloves, eye protection and mask that the safety data sheet "
                "asks for."
            ),
        ),
    ]
    cobalt = [
        sorbent.label
        for sorbent in (settings.sorbents[packet.sorbent] for packet in settings.packets.values())
        if sorbent.indicator is not None and settings.indicators[sorbent.indicator].hazard == "cobalt"
    ]
    known = (
        f"This scenario uses it: {', '.join(dict.fromkeys(cobalt))}. "
        if cobalt
        else "This scenario does not use it; old stock in your store may. "
    )
    points.append(
        (
            "Cobalt indicator.",
            (
                f"{known}Gel that turns from blue to pink carries cobalt dichloride: it may cause cancer by "
                "inhalation (H350i), may damage fertility (H360F), may cause allergy or asthma symptoms when "
                "breathed in (H334) and an allergic skin reaction (H317), and is very toxic to aquatic life with "
                "long lasting effects (H410). It is on the EU list of substances of very high concern. Do not "
                "make dust of it, heat it only as its data sheet allows, and give it to a licensed carrier as "
                "hazardous waste."
            ),
        )
    )
    last = Text(
        text="These are figures of a model, not instructions. Safety data sheets, your local rules and risk "
        "assessment, and licensed practice come before anything that stands here. Check the humidity inside with "
        "loggers before you rely on a plan."
    )
    return Section(id=names.of("cautions"), title="Cautions", blocks=[Points(points=points), last])
