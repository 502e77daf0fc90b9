"""What a comparison, sweep, search, stress test or sensitivity study adds to the page: its answer, as it was said."""

from __future__ import annotations

from typing import Final

from simstore.errors import SimstoreError
from simstore.prose.blocks import Block, Cautions, Paragraph, Said, Section, said_of
from simstore.prose.sections.side_by_side import plans_side_by_side
from simstore.results.reading import ResultFolder

ORDER: Final = ("find", "sweep", "compare", "stress", "sensitivity")
"""Studies on the page; others come after them."""
ONE_PLAN: Final = ("stress", "sensitivity")
"""Studies whose cases are one plan under different conditions, and not plans to choose from."""


def study_section(folder: ResultFolder, lead: str) -> Section:
    """Lay out the answer of a study; plans that there are to choose from come before its charts and long tables.

    Parameters
    ----------
    folder : ResultFolder
    lead : str
        Plan of the page.

    Raises
    ------
    SimstoreError
        If there is no answer as this version writes it.
    """
    said = answer_in(folder)
    first = next((n for n, block in enumerate(said.blocks) if isinstance(block, Cautions)), len(said.blocks))
    beside: list[Block] = [] if folder.command in ONE_PLAN else plans_side_by_side(folder, lead)
    own = folder.facts.get("asked", {}).get("plan")
    about: list[Block] = []
    if folder.command in ONE_PLAN and own != lead:
        note = f"This part is about plan “{own}” ({folder.label_of(own)}), not about the plan that leads this page."
        about = [Paragraph(text=note)]
    blocks = [*about, *said.blocks[:first], *beside, *said.blocks[first:]]
    return Section(name=folder.command, title=said.title, blocks=blocks)


def answer_in(folder: ResultFolder) -> Said:
    """Read what a study said.

    Raises
    ------
    SimstoreError
        If there is no answer as this version writes it.
    """
    try:
        return said_of(folder.document("answer.json") or {})
    except (KeyError, TypeError, ValueError) as error:
        msg = f"{folder.path / 'answer.json'}: is not an answer as this version writes it; run the study again"
        raise SimstoreError(msg) from error
