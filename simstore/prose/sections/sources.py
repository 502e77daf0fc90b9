"""What the numbers rest on: every input with its origin, and how the results can be made again."""

from __future__ import annotations

from simstore.prose.blocks import Block, Cell, Column, Heading, Paragraph, Points, Section, Table
from simstore.prose.phrases import counted, listed
from simstore.results.origins import ASSUMED, MEASURED, NOTED, PRINTED, Input, counted_by_origin, inputs_of
from simstore.results.reading import ResultFolder


def sources_section(folder: ResultFolder) -> Section:
    """List all inputs, grouped as in the scenario."""
    inputs = inputs_of(folder)
    counts = counted_by_origin(inputs)
    said = {
        MEASURED: counted(counts[MEASURED], "measurement") + " of yours",
        PRINTED: f"{counts[PRINTED]} from printed sources",
        NOTED: f"{counts[NOTED]} with a note of yours",
        ASSUMED: f"{counts[ASSUMED]} assumptions",
    }
    blocks: list[Block] = [
        Paragraph(
            text=f"{len(inputs)} inputs: {listed([text for origin, text in said.items() if counts[origin]])}. "
            "An assumption is not wrong, but nobody has vouched for it. Lines are those of "
            f"{folder.facts['read'][0]['name']}: write a comment behind a value there to say where it comes from; one "
            "that begins with “measured” counts as a measurement."
        )
    ]
    for section in dict.fromkeys(one.section for one in inputs):
        own = [one for one in inputs if one.section == section]
        blocks.append(_table(section, own))
    blocks += [Heading(text="To make these results again"), Points(points=_provenance(folder))]
    return Section(name="sources", title="What the numbers rest on", blocks=blocks)


def _table(section: str, inputs: list[Input]) -> Table:
    return Table(
        caption=section,
        columns=[
            Column("Input", numeric=False),
            Column("Value", numeric=False),
            Column("Unit", numeric=False),
            Column("Meaning", numeric=False),
            Column("From", numeric=False),
        ],
        rows=[
            [Cell(one.key), Cell(one.value), Cell(one.unit), Cell(one.meaning), Cell(_from(one, before))]
            for one, before in zip(inputs, [None, *inputs[:-1]], strict=True)
        ],
    )


def _from(one: Input, before: Input | None) -> str:
    """Say where an input comes from; a long source is not repeated in the next row."""
    if before is not None and one.origin == PRINTED and (one.origin, one.detail) == (before.origin, before.detail):
        return f"{one.origin}: as above"
    return f"{one.origin}: {one.detail}" if one.detail else one.origin


def _provenance(folder: ResultFolder) -> list[tuple[str, str]]:
    facts = folder.facts
    versions = ", ".join(f"{name} {number}" for name, number in facts["versions"].items())
    points = [
        ("Seed", f"{facts['seed']}, {counted(folder.replications, 'simulated run')} of each plan"),
        ("Versions", versions),
    ]
    points += [(str(file["name"]), f"SHA-256 {file['sha256']}") for file in facts["read"]]
    return points
