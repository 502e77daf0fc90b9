"""Where gel and water went: the two books that must close in every run."""

from __future__ import annotations

from typing import Final

from simstore.prose.blocks import Block, Cell, Column, Paragraph, Section, Table, num
from simstore.results.pooled import of_plan
from simstore.results.reading import ResultFolder

BOOKS: Final = {
    "gel": "Dry gel in the store: enclosures, stock and ovens",
    "water": "Water held by gel, packing and objects",
}
ENTRIES: Final = {
    ("gel", "start"): "there at the start",
    ("gel", "bought"): "bought",
    ("gel", "lost"): "lost: dust, spillage, thrown away",
    ("gel", "end"): "there at the end",
    ("water", "start"): "held at the start",
    ("water", "through_walls"): "came in through walls, seals and lids",
    ("water", "with_openings"): "came in when enclosures were opened",
    ("water", "with_purchases"): "came with gel that was bought",
    ("water", "from_objects"): "given off by objects and packing",
    ("water", "driven_off"): "driven off in the oven",
    ("water", "regained"): "taken up again outside enclosures",
    ("water", "lost_with_gel"): "left with lost gel",
    ("water", "end"): "held at the end",
}


def balance_section(folder: ResultFolder, plan: str) -> Section | None:
    """Lay out both books of ``plan``; None for results that were made before the table existed."""
    if "balance" not in folder.tables:
        return None
    rows = of_plan(folder.tables, "balance", plan)
    mean = rows.groupby(["book", "entry"], sort=False)["kg"].sum() / folder.replications
    blocks: list[Block] = [
        Paragraph(
            text="Means over the simulated runs, each a whole run. A run whose books are out by more than one part in "
            "a thousand million of the flows stops with an error, so what is not explained below is rounding."
        )
    ]
    for book, caption in BOOKS.items():
        if book not in mean.index.get_level_values(0):
            continue
        entries = mean[book]
        body = [
            [
                Cell(ENTRIES.get((book, str(entry)), str(entry).replace("_", " "))),
                num(float(kg), 3, sign=entry not in ENDS),
            ]
            for entry, kg in entries.items()
            if kg != 0.0 and entry != "end"
        ]
        end = float(entries.get("end", 0.0))
        rest = end - float(entries.drop("end", errors="ignore").sum())
        body.append([Cell("not explained"), num(rest if abs(rest) > 5e-4 else 0.0, 3)])
        body.append([Cell(ENTRIES[book, "end"]), num(end, 3)])
        blocks.append(
            Table(
                caption=caption,
                columns=[Column("Entry", numeric=False), Column("In all", "kg")],
                rows=body,
                total=True,
            )
        )
    return Section(name="balance", title="Where gel and water went", blocks=blocks)


ENDS: Final = frozenset({"start", "end"})
