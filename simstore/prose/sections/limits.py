"""What the report does not know, and what to take care of: worded by us, deferring to data sheets and local rules."""

from __future__ import annotations

from typing import Final

from simstore.prose.blocks import Paragraph, Points, Section
from simstore.prose.cautions import ALONE, BAGGING, COBALT, DRY_AIR, HEAT, LAST_WORD, LOOSE_GEL, cobalt_gels
from simstore.prose.phrases import listed
from simstore.results.reading import ResultFolder
from simstore.scenario.checking.view import View

NOT_MODELLED: Final = (
    (
        "Corrosion itself.",
        (
            "A day under the ceiling counts as held, whatever the object, its salts and its history. The ceilings"
            " and the standard are your choice; the model only says how often they are kept."
        ),
    ),
    (
        "A lower limit of humidity.",
        (
            "Gel dries everything in the enclosure, and no day counts as too dry. Finds that carry remains of wood, "
            "leather, textile, bone or ivory, and composite objects, may be harmed by such dry air: somebody must "
            "decide for each (common practice, no source)."
        ),
    ),
    (
        "Peaks shorter than a day.",
        (
            "“Held” goes by the mean humidity of a day: a few hours over the ceiling, as after an opening, are not "
            "counted against the standard while the mean of that day is under it."
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

NOBODY_READS: Final = (
    "Nobody reads enclosures between exchanges under this plan: a box left open or a torn bag would not be noticed "
    "before somebody opens it. Spot checks with loggers, which would find it, are not in the hours or the budget."
)


def limits_section(folder: ResultFolder, plan: str) -> Section:
    """List what is not modelled, what does not happen in these runs, and what reading the data had to do to them."""
    blocks = [Points(points=[*NOT_MODELLED, *_not_in_these_runs(folder, plan)])]
    notes = folder.scenario.notes
    if notes:
        blocks.append(Points(points=[("On your data.", note) for note in notes]))
    return Section(name="limits", title="What is not modelled", blocks=blocks)


def _not_in_these_runs(folder: ResultFolder, plan: str) -> list[tuple[str, str]]:
    """Say which failures this scenario has none of, and whether anybody would notice one."""
    settings = folder.settings_of(plan)
    kinds = View(settings=settings, names={}, enclosures=folder.scenario.enclosures).used_kinds()
    happens = {
        "failures of enclosures": any(settings.kinds[name].failures_per_year for name in kinds),
        "breakdowns of ovens": any(oven.count and oven.failures_per_year for oven in settings.ovens.values()),
        "sickness": any(person.sick_days_per_year for person in settings.technicians.values()),
    }
    points = []
    none = [what for what, there in happens.items() if not there]
    if none:
        dated = " beside the incidents with a date that it lists" if settings.incidents else ""
        listing = listed([f"no {what}" for what in none])
        text = f"It has {listing}{dated}, so that none happen in these runs. A real store has some."
        points.append(("Bad luck that the scenario leaves out.", text))
    if not _somebody_reads(folder, plan):
        points.append(("Looking at enclosures.", NOBODY_READS))
    return points


def _somebody_reads(folder: ResultFolder, plan: str) -> bool:
    """Whether rounds are made on which enclosures are read."""
    metrics = folder.summary.get(plan, {})
    if "rounds" in metrics:
        return metrics["rounds"].estimate.mean > 0
    known = folder.scenario.settings.plans.get(plan)
    return known is not None and known.goes_by("indicator")


def cautions_section(folder: ResultFolder, plan: str) -> Section:
    """Write the cautions that the plan's work calls for."""
    settings = folder.settings_of(plan)
    cobalt = cobalt_gels(settings)
    points = [(f"{each.action}.", each.text) for each in (HEAT, ALONE, LOOSE_GEL, BAGGING, DRY_AIR)]
    known = f"This scenario uses it: {', '.join(cobalt)}." if cobalt else "Not in this scenario; old stock may hold it."
    points.append((f"{COBALT.action}.", f"{COBALT.text} {known}"))
    last = Paragraph(text=LAST_WORD)
    return Section(name="cautions", title="Cautions", blocks=[Points(points=points), last])
