"""What a search found, in plain words: the answer first, then its evidence, then what more buys."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.plans.candidates import Candidate
from simstore.prose.blocks import Block, Cell, Column, Paragraph, Points, Table, num
from simstore.prose.cautions import cautions
from simstore.prose.phrases import number
from simstore.prose.run import held_table
from simstore.results.objective import SIMULATED_COST
from simstore.statistics.intervals import MeanInterval
from simstore.study.find.search import Found
from simstore.study.find.tables import binding_of, next_cheaper, summary_of_choice

MOST_LISTED = 4


def find_blocks(found: Found) -> Iterator[Block]:
    """Say what a search found."""
    yield from _held(found) if found.chosen is not None else _nothing(found)
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    yield from cautions([(metrics, found.scenario.settings)])


def _held(found: Found) -> Iterator[Block]:
    chosen, currency = found.chosen, found.scenario.settings.prices.currency
    assert chosen is not None
    seen = found.finding.evidence[chosen]
    proof = seen.proof
    assert proof is not None
    cost = proof.cost
    yield Paragraph(
        text=f"The cheapest plan that is proven to keep every metal class as the standards ask: {_said(found, chosen)}."
    )
    yield Paragraph(
        text=f"It costs {number(cost.mean, 0)} {currency} a year ({number(cost.low, 0)} to {number(cost.high, 0)}), "
        f"capital and gel in use included. In {proof.met} of {proof.replications} fresh simulated years, which had no "
        f"part in choosing it, every standard was met: at least {100 * proof.share_low:.1f} % of years, where more "
        f"than {100 * found.options.target:g} % was asked (confidence {100 * found.options.confidence:g} % for the "
        "choice)."
    )
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    settings = found.scenario.settings
    held = {name: metrics[f"held_pct.{name}"].estimate for name in settings.metals if f"held_pct.{name}" in metrics}
    yield held_table(held, settings)
    yield Paragraph(text=f"{binding_of(found)}.")
    yield from _rivals(found)
    yield from _marginal(found)
    yield from _trade_off(found)
    yield _effort(found)


def _rivals(found: Found) -> Iterator[Block]:
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
        ("Perhaps cheaper, neither thrown out nor proven:", finding.undecided_cheaper),
    ):
        if plans:
            yield Paragraph(text=head, close=close)
            yield _listed(plans)
            close = True


def _listed(plans: tuple[Candidate, ...]) -> Points:
    points = [("", plan.name) for plan in plans[:MOST_LISTED]]
    if len(plans) > MOST_LISTED:
        points.append(("", f"and {len(plans) - MOST_LISTED} more, in find_candidates.csv"))
    return Points(points=points, close=True)


def _marginal(found: Found) -> Iterator[Block]:
    if not found.marginal:
        return
    settings = found.scenario.settings
    metal = _scarcest(found)
    rows, notes = [], []
    for row in found.marginal:
        if row.problem:
            rows.append([Cell(row.step.what), Cell("cannot run"), Cell("")])
            continue
        held, cost = row.differences[f"held_pct.{metal}"], row.differences[SIMULATED_COST]
        rows.append([Cell(row.step.what), _plus_minus(held, 2), _plus_minus(cost, 0)])
        if row.step.idle_hours_cost:
            notes.append(
                f"Hours are charged when they are worked; paid whether there is work or not, {row.step.what} "
                f"costs {number(row.step.idle_hours_cost, 0)} {settings.prices.currency} a year."
            )
    years = next((e.replications for r in found.marginal for e in r.differences.values()), 0)
    notes.append(f"Differences over {years} years of equal luck; the intervals of a column hold together.")
    heads = (f"{metal} held, points", f"{settings.prices.currency} a year")
    yield Table(
        caption="What one step more or less changes",
        columns=[Column("one step more or less", numeric=False), *(Column(head) for head in heads)],
        rows=rows,
        indented=True,
    )
    for note in notes:
        yield Paragraph(text=note, close=True)


def _plus_minus(difference: MeanInterval, decimals: int) -> Cell:
    mean = num(difference.mean, decimals, sign=True)
    return Cell(f"{mean.text} ± {number(difference.half_width, decimals)}", mean.key)


def _scarcest(found: Found) -> str:
    """Name the metal whose held share is nearest to its standard under the chosen plan."""
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    metals = found.scenario.settings.metals
    present = [name for name in metals if f"held_pct.{name}" in metrics]
    return min(present, key=lambda n: metrics[f"held_pct.{n}"].estimate.mean - metals[n].standard_pct)


def _trade_off(found: Found) -> Iterator[Block]:
    front = [point for point in found.trade_off if point.on_front]
    if not front:
        return
    settings = found.scenario.settings
    yield Paragraph(
        text="Plans that no simulated plan beats (* the plan found); the margin is the points by which the scarcest "
        "metal is over its standard:"
    )
    yield Table(
        caption="Plans that no simulated plan beats",
        columns=[
            Column("", numeric=False),
            Column("cost", f"{settings.prices.currency} a year", short=f"{settings.prices.currency} a year"),
            Column("margin", "points"),
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
        close=True,
    )


def _effort(found: Found) -> Paragraph:
    said = {
        "simulated": "simulated by the search",
        "left_out_by_screening": "left out by the screening model",
        "left_out_as_twins": "as twins of cheaper ones",
        "not_needed": "not needed, since they are expected to cost no less than the plan found",
        "not_reached": "not reached before the search ended",
    }
    counts = found.counts()
    parts = ", ".join(f"{counts[name]} {words}" for name, words in said.items() if counts[name])
    text = f"{len(found.screened)} plan{'' if len(found.screened) == 1 else 's'}: {parts}."
    more = found.simulated_in_all - counts["simulated"]
    if more:
        text += (
            f" {more} of those that the search did not simulate were simulated all the same, to check the screening "
            f"model or for the trade-off: {found.simulated_in_all} in all."
        )
    return Paragraph(
        text=f"{text} {len(found.bench.known)} simulated years together, each {_run(found)} from the state that the "
        "register gives."
    )


def _run(found: Found) -> str:
    years = found.scenario.settings.years
    return "one year" if years == 1 else f"a run of {years} years"


def _nothing(found: Found) -> Iterator[Block]:
    short = found.shortage
    assert short is not None
    yield Paragraph(
        text="No plan of the search space is proven to keep every metal class as the standards ask in more than "
        f"{100 * found.options.target:g} % of years."
    )
    seen = found.finding.evidence.get(short.nearest)
    missing = ", ".join(f"{metal} by {points:.2f} points" for metal, points in short.missing_pct.items())
    text = f"The nearest is {_said(found, short.nearest)}"
    text += f": {seen.reason}" if seen is not None else ""
    text += f". On the mean it misses {missing}." if missing else ". On the mean it meets every standard."
    yield Paragraph(text=text)
    yield Paragraph(text=f"What is short: {short.short}.")
    if short.least is not None and short.evidence is not None:
        cost = short.evidence.cost
        costs = "" if cost is None else f", at {number(cost.mean, 0)} {found.scenario.settings.prices.currency} a year"
        text = f"The least change that is proven to make it hold: {short.least.what}{costs} ({short.evidence.reason})."
        yield Paragraph(text=text)
    else:
        tried = ", ".join(dict.fromkeys(each.resource for each in short.tried))
        yield Paragraph(
            text=f"No single change that was tried ({tried}) is proven to make it hold: change more than one, house "
            "the objects otherwise, or ask for less."
        )
    yield from _trade_off(found)
    yield _effort(found)


def _said(found: Found, plan: Candidate) -> str:
    label = found.scenario.settings.plans[plan.base].label
    own = f"plans.{plan.base}."
    changes = ", ".join(f"{key.removeprefix(own)} = {value}" for key, value in plan.changes)
    return f"'{plan.base}' ({label})" + (f" with {changes}" if changes else " as it stands")
