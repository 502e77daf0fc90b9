"""Plans of a search that may be as good as the one it found: not told apart from it by cost, or perhaps cheaper."""

from __future__ import annotations

import math
from typing import Any, Final

from simstore.plans.found import name_said
from simstore.prose.phrases import NBSP, begun, counted, number
from simstore.report.page.parts import Block, Cell, Head, Names, Subhead, Table, Text, num
from simstore.results.reading import ResultFolder

MOST_LISTED: Final = 20
"""Plans on the page; find_candidates.csv has all."""
ALIKE: Final = "as dear"
CHEAPER: Final = "perhaps cheaper"


def rivals(folder: ResultFolder, document: dict[str, Any], names: Names) -> list[Block]:
    """Lay out the plans that the search neither threw out nor proved to be dearer; empty where there are none.

    Parameters
    ----------
    folder : ResultFolder
        Of a search.
    document : dict
        Its ``find.json``.
    names : Names
    """
    cheaper = document["undecided_and_perhaps_cheaper"]
    open_names = {plan["name"] for plan in cheaper}
    alike = [plan for plan in document["not_told_apart"] if plan["name"] not in open_names]
    listed = [*((plan, CHEAPER) for plan in cheaper), *((plan, ALIKE) for plan in alike)]
    if document["chosen"] is None or not listed:
        return []
    expected = _expected_costs(folder)
    shown = listed[:MOST_LISTED]
    left = len(listed) - len(shown)
    table = Table(
        id=names.of("found-rivals"),
        caption="Plans that may be as good as the one found; what was not simulated has its expected cost"
        + (f"; {counted(left, 'more plan')} of this kind in find_candidates.csv" if left else ""),
        heads=[
            Head("Plan", numeric=False),
            Head("So", numeric=False),
            Head("Cost", f"{folder.scenario.settings.prices.currency} a year"),
            Head("Limits", "of the search"),
            Head("What is known", numeric=False),
        ],
        rows=[_row(folder, plan, so, expected) for plan, so in shown],
        sortable=True,
    )
    return [Subhead(text="Plans that may be as good"), Text(text=_said(len(alike), len(cheaper))), table]


def _said(alike: int, cheaper: int) -> str:
    parts = []
    if cheaper:
        parts.append(
            f"{counted(cheaper, 'plan')} may be cheaper than the one found, but {'was' if cheaper == 1 else 'were'} "
            "neither thrown out nor proven to keep the standards: more simulated years would tell."
        )
    if alike:
        parts.append(
            f"The cost of {counted(alike, 'other plan')} could not be told apart from that of the one found: take "
            "whichever suits you, once it is proven too."
        )
    return " ".join(parts)


def _expected_costs(folder: ResultFolder) -> dict[str, float]:
    """Cost that the screening model expects of each candidate."""
    table = folder.study_table("find_candidates.csv")
    if table is None:
        return {}
    return {str(name): float(cost) for name, cost in zip(table["plan"], table["expected_cost_per_year"], strict=True)}


def _row(folder: ResultFolder, plan: dict[str, Any], so: str, expected: dict[str, float]) -> list[Cell]:
    cost = plan["search"]["cost"]
    if cost is None:
        middle = num(expected.get(plan["name"], math.nan), 0)
        limits = Cell("expected", middle.key)
    else:
        low, high = cost["low"], cost["high"]
        known = low is not None and high is not None
        middle = num(float(cost["mean"]), 0)
        limits = Cell(f"{number(low)} to {number(high)}", f"{low:.10g}") if known else Cell("–")
    name = name_said(folder.scenario.settings, plan["name"])
    return [Cell(_joined(name)), Cell(so), middle, limits, Cell(begun(_joined(plan["reason"])))]


def _joined(text: str) -> str:
    return text.replace(" %", f"{NBSP}%")
