"""What a search found, in plain words: the answer first, then its evidence, then what more buys."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.plans.candidates import Candidate
from simstore.prose.answers.rivals import rivals, trade_off_of
from simstore.prose.answers.run import held_table
from simstore.prose.answers.steps import steps
from simstore.prose.blocks import Block, Data, Paragraph
from simstore.prose.cautions import cautions
from simstore.prose.phrases import number
from simstore.study.find.search import Found
from simstore.study.find.tables import binding_of, summary_of_choice


def find_blocks(found: Found) -> Iterator[Block]:
    """Say what a search found."""
    yield from _held(found) if found.chosen is not None else _nothing(found)
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    yield from cautions([(metrics, found.scenario.settings)])
    yield Data(table="find_candidates", caption="Every plan of the search")


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
        f"capital and gel in use included. In {proof.met} of {proof.replications} fresh runs, which had no part in "
        f"choosing it, every standard was met in {_every_year(found)}: in more than {100 * proof.share_low:.1f} % of "
        f"runs, where more than {100 * found.options.target:g} % was asked (confidence "
        f"{100 * found.options.confidence:g} % for the choice)."
    )
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    settings = found.scenario.settings
    held = {name: metrics[f"held_pct.{name}"].estimate for name in settings.metals if f"held_pct.{name}" in metrics}
    yield held_table(held, settings)
    yield Paragraph(text=f"{binding_of(found)}.")
    yield from rivals(found)
    yield from steps(found)
    yield from trade_off_of(found)
    yield _effort(found)


def _effort(found: Found) -> Paragraph:
    counts = found.counts()
    plans = len(found.finding.evidence)
    text = f"{plans} plan{'' if plans == 1 else 's'}: {counts['simulated']} simulated by the search"
    if counts["believed"]:
        text += f", {counts['believed']} judged by those like them that were"
    return Paragraph(
        text=f"{text}. {len(found.samples.known)} runs together, each {_run(found)} from the state that the register "
        "gives."
    )


def _every_year(found: Found) -> str:
    return "the year" if found.horizon_years == 1 else f"each of {found.horizon_years} years"


def _run(found: Found) -> str:
    years = found.scenario.settings.years
    return "one year" if years == 1 else f"a run of {years} years"


def _nothing(found: Found) -> Iterator[Block]:
    short = found.shortage
    assert short is not None
    yield Paragraph(
        text="No plan of the search space is proven to keep every metal class as the standards ask in more than "
        f"{100 * found.options.target:g} % of runs, in {_every_year(found)}."
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
            text=f"No change that was tried ({tried}) is proven to make it hold: house the objects otherwise, or ask "
            "for less."
        )
    yield from trade_off_of(found)
    yield _effort(found)


def _said(found: Found, plan: Candidate) -> str:
    label = found.scenario.settings.plans[plan.base].label
    own = f"plans.{plan.base}."
    changes = ", ".join(f"{key.removeprefix(own)} = {value}" for key, value in plan.changes)
    return f"'{plan.base}' ({label})" + (f" with {changes}" if changes else " as it stands")
