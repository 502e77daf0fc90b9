"""Learns how leaky enclosures are from packets that were weighed and humidity that was read inside."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Unpack

from simstore.errors import error_from
from simstore.questions.answer import Answer
from simstore.questions.loaded import Source, asking
from simstore.questions.options import How, Option, PathText
from simstore.questions.question import question

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.scenario.scenario import Scenario
    from simstore.study.fit.fit import Fit


@question()
def fit(
    store: Source,
    *,
    measurements: Annotated[
        PathText, Option(reads=Path, metavar="FILE", help="Weighings and readings: enclosure, put_in, measured, ...")
    ],
    scale_g: Annotated[float, Option(reads=float, least=0.01, help="Standard error of one weighing, g.")] = 1.0,
    **how: Unpack[How],
) -> Answer[Fit]:
    """Learn the leak of each measured enclosure and of its kind; write them for the scenario to read."""
    from simstore.prose.answers.fit import fit_blocks
    from simstore.scenario.reading.measurements import read_measurements
    from simstore.scenario.reading.user_file import named_bytes
    from simstore.study.fit.fit import fit as learnt
    from simstore.study.fit.tables import leaks_file, tables_of

    asked = asking(store, how)
    whole = _unlearnt(asked.scenario)
    file = Path(measurements)
    data = named_bytes(file, cure="name the file of your measurements")
    rows, problems = read_measurements(data, file.name, [each.id for each in whole.enclosures])
    if problems:
        raise error_from(problems, f"measurements {file}")
    found = learnt(whole, rows, scale_g=scale_g)
    plan = whole.settings.default_plan
    return Answer(
        question="fit",
        scenario=asked.scenario,
        asked={"measurements": file.name, "scale_g": scale_g},
        found=found,
        replications=1,
        measured={plan: {}},
        title="How leaky the enclosures are",
        blocks=list(fit_blocks(found)),
        make_tables=lambda: tables_of(found),
        make_pictures=lambda: pictures_of(found),
        files={"leaks.toml": lambda: leaks_file(found)},
    )


def pictures_of(found: Fit) -> Iterator[tuple[str, Picture]]:
    """Draw the kinds before and after, and measured against predicted."""
    from simstore.report.charts.learnt import leak_by_kind, measured_and_predicted
    from simstore.study.fit.tables import tables_of

    tables, settings = tables_of(found), found.scenario.settings
    source = (
        f"{settings.title}. {len(found.measurements)} measurements in {len(found.leaks)} enclosures. {settings.note}"
    )
    pictures = [leak_by_kind(tables["kinds"], tables["leaks"], source=source)]
    if tables["measured"]["wet_g"].notna().any():
        pictures.append(measured_and_predicted(tables["measured"], source=source))
    yield from ((picture.name, picture) for picture in pictures)


def _unlearnt(scenario: Scenario) -> Scenario:
    """Read the scenario as it is without an earlier fit, so that nothing is counted twice."""
    from simstore.scenario.reading.load import load_given

    if not scenario.settings.fit:
        return scenario
    return load_given({file.name: file.data for file in scenario.files}, changes={"fit": ""})
