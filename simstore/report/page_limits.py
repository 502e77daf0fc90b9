"""What the report does not know, and what to take care of: worded by us, deferring to data sheets and local rules."""

from __future__ import annotations

from typing import Final

from simstore.report.page_parts import Names, Points, Section, Text
from simstore.report.result_folder import ResultFolder
from simstore.scenario.cautions import ALONE, BAGGING, COBALT, HEAT, LAST_WORD, LOOSE_GEL, cobalt_gels

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
    cobalt = cobalt_gels(settings)
    points = [(f"{each.action}.", each.text) for each in (HEAT, ALONE, LOOSE_GEL, BAGGING)]
    known = f"This scenario uses it: {', '.join(cobalt)}." if cobalt else "Not in this scenario; old stock may hold it."
    points.append((f"{COBALT.action}.", f"{COBALT.text} {known}"))
    last = Text(text=LAST_WORD)
    return Section(id=names.of("cautions"), title="Cautions", blocks=[Points(points=points), last])
