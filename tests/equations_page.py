"""The page of model equations, made from the docstrings of ``simstore/physics`` and the table of outside checks."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import outside_checks

PHYSICS = Path(__file__).resolve().parents[1] / "simstore" / "physics"

CHAPTERS = (
    ("air", "Water vapour in air"),
    ("sorption", "What gel holds: isotherms"),
    ("tabulated", "Isotherms from a data sheet"),
    ("isotherm", "Heat that belongs to an isotherm"),
    ("hysteresis", "Hysteresis"),
    ("wall", "Walls of boxes and bags"),
    ("packet", "The packet's own resistance"),
    ("curve_table", "The gel's curve in the step"),
    ("gel_terms", "The loop in the step"),
    ("gap_chain", "The inside of an enclosure: a chain of stores"),
    ("linear_stores", "The chain over a step in time"),
    ("hour_step", "An hour of it, with liquid water"),
    ("block_step", "A day of it in one step"),
    ("filling_up", "What a planner expects of gel"),
    ("drying", "Drying"),
    ("building", "The room's air from outdoor weather"),
    ("quantity", "Formulas of the trade, for a second opinion"),
)
"""Module and heading, in reading order."""

AREAS = {
    "air": "water vapour in air",
    "gel": "isotherms of gel",
    "film": "permeability of films",
    "wall": "walls",
    "drying": "drying",
    "quantity": "formulas of the trade",
    "queue": "people and ovens as queues",
}

LAWS = (
    (
        "The RH inside is within 0.05 %RH of an adaptive stiff solver on the same equations at every hour of 41 whole years",
        "tests/years/test_years.py",
    ),
    (
        "A planner who knows every leak calls gel spent within 0.3 %RH of the trigger, boxes and bags, in six climates",
        "tests/features/test_belief.py",
    ),
    ("Gel is conserved at every event, water over every run to 1e-9 of what passed", "tests/sim/test_books.py"),
    ("Waiting for people and ovens agrees with queueing theory", "tests/sim/test_queues.py"),
    ("Forty events of three boxes come at the minutes that were worked out by hand", "tests/sim/test_trace.py"),
    ("A second, slow and plain model of the rules comes to the same days", "tests/sim/test_brute_force.py"),
    ("Isotherms rise, and q from RH undoes RH from q, at all temperatures", "tests/physics/test_sorption.py"),
    ("Intervals cover what they promise", "tests/study/test_coverage.py"),
)
"""What tests hold the model to beside printed figures, and where."""


def markdown(text: str) -> str:
    """Turn the few marks of reStructuredText that the docstrings use into Markdown."""
    lines = text.split("\n")
    out: list[str] = []
    place = 0
    while place < len(lines):
        line = lines[place]
        underline = lines[place + 1] if place + 1 < len(lines) else ""
        if line.startswith(".. math::"):
            block = [line.removeprefix(".. math::").strip()]
            place += 1
            while place < len(lines) and (lines[place].startswith(" ") or (not lines[place] and block == [""])):
                block.append(lines[place].strip())
                place += 1
            out += ["```math", *(part for part in block if part), "```"]
            continue
        if line and underline and set(underline) == {"-"}:
            out += [f"**{line}**", ""]
            place += 2
            continue
        out.append(line)
        place += 1
    joined = "\n".join(out)
    joined = re.sub(r":math:`([^`]+)`", r"$`\1`$", joined)
    return re.sub(r"(?<!`)``([^`]+)``(?!`)", r"`\1`", joined)


def parts_of(docstring: str) -> tuple[str, list[str]]:
    """Split a docstring into what comes before its sections, and its references."""
    head = re.split(r"\n\n(?:Parameters|Attributes|Returns|Raises|References|Notes)\n-+\n", docstring)[0]
    found = re.search(r"\n\nReferences\n-+\n(.*?)(?:\n\n\w+\n-+\n|$)", docstring, re.DOTALL)
    listed = re.split(r"^\.\. \[\d+\] ", found.group(1), flags=re.MULTILINE)[1:] if found else []
    return head, [" ".join(text.split()) for text in listed]


def chapter(module: str, heading: str) -> Iterator[str]:
    """Yield the lines of one module: its own words, and each function that has an equation or a source."""
    tree = ast.parse((PHYSICS / f"{module}.py").read_text(encoding="utf-8"))
    text, sources = parts_of(ast.get_docstring(tree) or "")
    yield from ("", f"## {heading}", "", markdown(text))
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
            text, sources = parts_of(inspect.cleandoc(ast.get_docstring(node) or ""))
            if ".. math::" not in text and not sources:
                continue
            yield from ("", f"### {markdown(text.splitlines()[0]).rstrip('.')}", "")
            yield f"`simstore.physics.{module}.{node.name}`"
            rest = "\n".join(text.splitlines()[1:]).strip()
            if rest:
                yield from ("", markdown(rest))
            for source in sources:
                yield from ("", f"Source: {markdown(source)}")


def validation() -> Iterator[str]:
    """Yield how many outside checks each part has, and the laws that tests hold."""
    rows = outside_checks.read_rows()
    yield from ("", "## How well it holds", "")
    missed = sum(1 for row in rows if row.miss)
    yield (
        f"{len(rows)} figures that others published, derived or go by stand against ours in the [outside "
        f"checks](outside-checks.md), each with its source, its bound and our value. {len(rows) - missed} are within "
        f"their bound; the {missed} misses are named there with their reason."
    )
    yield from (
        "",
        "| Part | Checks | Published | Derived | Other | Known misses |",
        "| --- | --- | --- | --- | --- | --- |",
    )
    for area in sorted({row.id.split(".")[0] for row in rows}):
        own = [row for row in rows if row.id.split(".")[0] == area]
        kinds = [row.kind for row in own]
        published, derived = kinds.count("published"), kinds.count("derived")
        misses = ", ".join(f"`{row.id}`" for row in own if row.miss) or "none"
        counts = f"{len(own)} | {published} | {derived} | {len(own) - published - derived}"
        yield f"| {AREAS.get(area, area)} | {counts} | {misses} |"
    yield from ("", "Beside printed figures, tests hold the program to laws:", "")
    yield from (f"- {law}: [`{path}`](../{path})." for law, path in LAWS)


def page() -> str:
    """Every equation of the model with its source, then how well it holds."""
    lines = [
        "# The model: equations, sources, and how well they hold",
        "",
        "Made by `python tests/reference_pages.py` from the program's own documentation; do not edit by hand.",
        "",
        "Vapour pressure drives everything. Water comes into an enclosure through its wall, is taken up by air, packing",
        "and gel, and goes out again with the packets and through the oven. What a source does not cover is said to be",
        "an assumption, common practice or from memory. `ln h` is the logarithm of the relative humidity as a fraction",
        "over the gel, q its water in kg per kg of dry gel, T the absolute temperature.",
    ]
    for module, heading in CHAPTERS:
        lines += chapter(module, heading)
    lines += validation()
    return "\n".join(lines) + "\n"
