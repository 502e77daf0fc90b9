"""Plans of a search beside the one that it found: cheaper, as dear, perhaps cheaper, and those that no other beats."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from simstore.plans.candidates import Candidate
from simstore.plans.found import name_said
from simstore.prose.blocks import Block, Cell, Chart, Column, Heading, Mark, Paragraph, Points, Table, num
from simstore.prose.phrases import NBSP, NONE, begun, counted, figures, money_said, number
from simstore.study.find.search import Found
from simstore.study.find.tables import next_cheaper
from simstore.study.find.trade_off import TradeOff, drawn_trade_off

MOST_NAMED: Final = 4
"""Plans of a kind that the terminal names."""
MOST_LISTED: Final = 20
"""Plans on the page; find_candidates.csv has all."""
ALIKE: Final = "as dear"
CHEAPER: Final = "perhaps cheaper"


def rivals(found: Found) -> Iterator[Block]:
    """Say which plans come next to the one that was found, and which may be as good."""
    finding = found.finding
    close = False
    cheaper = next_cheaper(found)
    if cheaper is not None:
        yield Paragraph(text=f"The next cheaper plan, {cheaper.name}: {finding.evidence[cheaper].reason}.")
        close = True
    if finding.runner_up is not None and finding.runner_up != cheaper:
        evidence = finding.evidence[finding.runner_up]
        yield Paragraph(text=f"The runner-up, {finding.runner_up.name}: {evidence.reason}.", close=close)
        close = True
    alike = tuple(plan for plan in finding.alike if plan not in finding.undecided_cheaper)
    for head, plans in (
        ("Not told apart from it by cost:", alike),
        (f"Not proven, and perhaps up to {100 * finding.could_save:.0f} % cheaper:", finding.undecided_cheaper),
    ):
        if plans:
            yield Paragraph(text=head, only="terminal", close=close)
            yield _named(plans)
            close = True
    yield from as_good(found, alike=alike, cheaper=finding.undecided_cheaper)


def _named(plans: Sequence[Candidate]) -> Points:
    points = [("", plan.name) for plan in plans[:MOST_NAMED]]
    if len(plans) > MOST_NAMED:
        points.append(("", f"and {len(plans) - MOST_NAMED} more, in find_candidates.csv"))
    return Points(points=points, only="terminal", close=True)


def as_good(found: Found, *, alike: Sequence[Candidate], cheaper: Sequence[Candidate]) -> Iterator[Block]:
    """Lay out the plans that the search neither proved nor believes to be dearer; nothing where there are none.

    Parameters
    ----------
    found : Found
    alike, cheaper : sequence of Candidate
        Not told apart from the plan found by cost; perhaps cheaper, but not proven.
    """
    listed = [*((plan, CHEAPER) for plan in cheaper), *((plan, ALIKE) for plan in alike)]
    if not listed:
        return
    left = len(listed) - MOST_LISTED
    yield Heading(text="Plans that may be as good", only="page")
    yield Paragraph(text=_open_said(len(alike), len(cheaper)), only="page")
    yield Table(
        caption="Plans that may be as good as the one found; what was not simulated has its expected cost"
        + (f"; {counted(left, 'more plan')} of this kind in find_candidates.csv" if left > 0 else ""),
        columns=[
            Column("Plan", numeric=False),
            Column("So", numeric=False),
            Column("Cost", f"{found.scenario.settings.prices.currency} a year"),
            Column("Limits", "of the search"),
            Column("What is known", numeric=False),
        ],
        rows=[_row(found, plan, so) for plan, so in listed[:MOST_LISTED]],
        sortable=True,
        only="page",
    )


def _open_said(alike: int, cheaper: int) -> str:
    parts = []
    if cheaper:
        parts.append(
            f"{counted(cheaper, 'plan')} may be cheaper than the one found, but {'was' if cheaper == 1 else 'were'} "
            "not proven to keep the standards: more simulated years would tell."
        )
    if alike:
        parts.append(
            f"The cost of {counted(alike, 'other plan')} could not be told apart from that of the one found: take "
            "whichever suits you, once it is proven too."
        )
    return " ".join(parts)


def _row(found: Found, plan: Candidate, so: str) -> list[Cell]:
    seen = found.finding.evidence[plan]
    if seen.cost is None:
        middle = num(seen.believed_cost, 0)
        limits = Cell("expected", middle.key)
    else:
        low, high = seen.cost.low, seen.cost.high
        middle = num(seen.cost.mean, 0)
        known = low == low and high == high
        limits = Cell(f"{number(low)} to {number(high)}", f"{low:.10g}") if known else Cell(NONE)
    name = name_said(found.scenario.settings, plan.name)
    return [Cell(_joined(name)), Cell(so), middle, limits, Cell(begun(_joined(seen.reason)))]


def _joined(text: str) -> str:
    return text.replace(" %", f"{NBSP}%")


def trade_off_of(found: Found) -> Iterator[Block]:
    """Lay out the plans between least cost and most held: on the terminal those that no other beats."""
    settings = found.scenario.settings
    front = [point for point in found.trade_off if point.on_front]
    if front:
        yield Paragraph(
            text="Plans that no simulated plan beats (* the plan found); the margin is the points by which the "
            "scarcest metal is over its standard:",
            only="terminal",
        )
        yield Table(
            caption="Plans that no simulated plan beats",
            columns=[
                Column("", numeric=False),
                Column(f"{settings.prices.currency} a year"),
                Column("margin"),
                Column("good years"),
                Column("plan", numeric=False, wraps=True),
            ],
            rows=[
                [
                    Cell("*" if point.plan == found.chosen else ""),
                    num(point.cost, 0),
                    num(point.margin_pct, 2, sign=True),
                    Cell(f"{point.good_years} of {point.replications}"),
                    Cell(point.plan.name),
                ]
                for point in front
            ],
            only="terminal",
            close=True,
        )
    if len(found.trade_off) < 2:
        return
    yield Heading(text="Plans that were simulated", only="page")
    drawn = drawn_trade_off(found.scenario, found.trade_off, found.chosen)
    if drawn is not None:
        left = len(found.trade_off) - len(drawn.points)
        note = f"{left} plans that cost more than {drawn.near:g} times as much are in the table only." if left else ""
        marks = [_mark(found, point, drawn.standard_pct) for point in drawn.points]
        yield Chart(picture="tradeoff", data=_simulated(found, drawn.points), marks=marks, note=note)
    yield _simulated(found, found.trade_off, targets=True)


def _mark(found: Found, point: TradeOff, standard_pct: float) -> Mark:
    settings = found.scenario.settings
    return Mark(
        x=point.cost,
        y=standard_pct + point.margin_pct,
        target=point.plan.name,
        name=name_said(settings, point.plan.name),
        facts=[
            f"{money_said(point.cost, settings.prices.currency)} a year",
            f"{figures(point.margin_pct, sign=True)} points over the standard",
            f"all standards met in {point.good_years} of {point.replications} years",
        ],
    )


def _simulated(found: Found, points: Sequence[TradeOff], *, targets: bool = False) -> Table:
    settings = found.scenario.settings
    return Table(
        caption="Simulated plans; the margin is that of the metal class that comes closest to its standard",
        columns=[
            Column("Plan", numeric=False),
            Column("Cost with capital", f"{settings.prices.currency} a year"),
            Column("Margin", "points over the standard"),
            Column("Good years", "all standards met"),
            Column("Beaten by another", numeric=False),
        ],
        rows=[
            [
                Cell(
                    name_said(settings, point.plan.name) + (" (chosen)" if point.plan == found.chosen else ""),
                ),
                num(point.cost, 0),
                num(point.margin_pct, 2, sign=True),
                Cell(f"{point.good_years} of {point.replications}", f"{point.good_years / point.replications:.6g}"),
                Cell("no" if point.on_front else "yes"),
            ]
            for point in points
        ],
        row_names=[point.plan.name for point in points] if targets else (),
        sortable=True,
        only="page",
    )
