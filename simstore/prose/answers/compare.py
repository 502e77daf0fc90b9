"""A comparison in words: the verdict first, then inputs, differences, changing over, and cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from simstore.prose.answers.outlays import changing_over, purchases
from simstore.prose.blocks import Block, Cell, Chart, Column, Data, Paragraph, Table, num
from simstore.prose.cautions import cautions
from simstore.prose.phrases import NONE, listed, number, share_said
from simstore.prose.terminal import WIDTH
from simstore.results.folder import file_parts
from simstore.results.judged import NOT_MET, OPEN, verdict
from simstore.study.compare.cheapest import ERROR, Cheapest
from simstore.study.compare.comparison import Comparison, Difference

MOST_INPUTS: Final = 12
"""So many inputs are shown; the table in the folder has all."""
MOST_PLANS: Final = 4
"""So many plans stand beside one another in the table of inputs."""
KEY_WIDTH: Final = 32
INTERVAL_WIDTH: Final = 16
"""An interval that needs more room says nothing: there are too few runs."""
EFFORT: Final = (
    ("staff_h", "h a year", "", 0),
    ("gel_bought_kg", "kg", "gel", 1),
    ("exchanges", "", "exchanges", 0),
)
"""Metric, unit and noun of the first sentence, decimals."""
SHOWN: Final = (
    ("excess_pct_days", 0), ("exchanges", 0), ("loads", 1), ("staff_h", 1), ("peak_week_h", 1), ("gel_bought_kg", 1),
    ("energy_kwh", 0), ("overdue", 1), ("cost_per_year", 0), ("annual_equivalent_cost", 0),
)  # fmt: skip
"""Metrics of the table and their decimals; the held shares come before them."""


def compare_blocks(comparison: Comparison, cheapest: Cheapest | None = None) -> Iterator[Block]:
    """Say how the plans compare."""
    settings = comparison.scenario.settings
    for plan in comparison.plans[1:]:
        yield Paragraph(text=f"{_verdict(comparison, plan)} {_standards(comparison, plan)}")
    if cheapest is not None:
        yield Paragraph(text=cheapest_said(cheapest, settings.prices.currency))
    yield from _inputs(comparison)
    for plan in comparison.plans[1:]:
        yield _table(comparison, plan)
    yield Paragraph(text=_method(comparison))
    yield from changing_over(comparison)
    yield from cautions((comparison.summary[plan], settings) for plan in comparison.plans)
    if comparison.replications > 1:
        yield from (Chart(picture=chart_of(comparison, plan)) for plan in comparison.plans[1:])
    yield Data(table="inputs", caption="Inputs that differ")
    yield Data(table="differences", caption="Paired differences, with intervals that hold together")
    yield purchases(comparison)
    yield Data(table="years", caption="Money year by year")


def chart_of(comparison: Comparison, plan: str) -> str:
    """Name the chart of one plan against the reference."""
    return (
        "paired_differences"
        if len(comparison.plans) == 2
        else f"paired_differences_{file_parts(comparison.plans)[plan]}"
    )


def _verdict(comparison: Comparison, plan: str) -> str:
    """Say in one sentence what a plan takes and gives against the reference."""
    settings, reference = comparison.scenario.settings, comparison.plans[0]
    changes = []
    for metric, unit, noun, decimals in EFFORT:
        row = comparison.difference(plan, metric)
        if row.decided and round(row.mean, decimals) != 0:
            amount = " ".join(part for part in (number(abs(row.mean), decimals), unit) if part)
            fewer = "fewer" if noun == "exchanges" else "less"
            changes.append(" ".join(part for part in (amount, fewer if row.mean < 0 else "more", noun) if part))
    money = comparison.difference(plan, "annual_equivalent_cost")
    currency = settings.prices.currency
    if money.decided:
        changes.append(f"{number(abs(money.mean), 0)} {currency} a year {'less' if money.mean < 0 else 'more'}")
    first = (
        f"Plan '{plan}' needs {listed(changes)} than '{reference}'"
        if changes
        else f"Plan '{plan}' needs what '{reference}' needs, as far as these runs can tell"
    )
    held = []
    open_ = []
    for metal in _metals(comparison):
        row = comparison.difference(plan, f"held_pct.{metal}")
        if row.decided:
            own, other = (comparison.summary[name][row.metric].estimate.mean for name in (plan, reference))
            held.append(
                f"{metal} held {share_said(own)} against {share_said(other)}, difference {plus_minus(row, 2)} points"
            )
        elif row.mean != 0 and not math.isnan(row.mean):
            open_.append(metal)
    parts = [first, *held]
    if open_:
        parts.append(f"too close to tell for {listed(open_)}")
    if not held and not open_:
        parts.append("both hold every metal class alike")
    return "; ".join(parts) + "."


def cheapest_said(cheapest: Cheapest, currency: str) -> str:
    """Say which of the plans that keep every standard is the cheapest, and how sure that is."""
    if cheapest.best is None:
        return "No plan of these keeps every standard, so that none is the cheapest that does."
    if cheapest.selection is None:
        return f"'{cheapest.best}' is the only one of these plans that does not miss a standard."
    amount = f"{number(cheapest.indifference, 0 if cheapest.indifference >= 1 else 2)} {currency}"
    runs = int(cheapest.selection.replications.max())
    of = f"the {len(cheapest.plans)} plans that do not miss a standard"
    if cheapest.left:
        rest = listed([f"'{plan}'" for plan in cheapest.left])
        return (
            f"Which of {of} is the cheapest was not settled in {runs} runs: '{cheapest.best}' is, so far, and {rest} "
            f"may be cheaper by {amount} a year."
        )
    return (
        f"The cheapest of {of} is '{cheapest.best}', sure to {100 * (1 - ERROR):.0f} % unless another is within "
        f"{amount} a year of it; {runs} runs (Kim and Nelson 2001)."
    )


def _standards(comparison: Comparison, plan: str) -> str:
    """Say which of the two plans keeps the standards."""
    said = []
    for name in (plan, comparison.plans[0]):
        judged = {
            metal: verdict(
                comparison.summary[name][f"held_pct.{metal}"].estimate, comparison.scenario.settings.metals[metal]
            )
            for metal in _metals(comparison)
        }
        missed = [metal for metal, said_ in judged.items() if said_ == NOT_MET]
        unsure = [metal for metal, said_ in judged.items() if said_ == OPEN]
        if missed:
            said.append(f"'{name}' does NOT keep the standard of {listed(missed)}")
        elif unsure:
            said.append(f"'{name}' may or may not keep that of {listed(unsure)}")
        else:
            said.append(f"'{name}' keeps every standard")
    return f"{'; '.join(said)}."


def plus_minus(row: Difference, decimals: int) -> str:
    """Write an estimate with half of its interval."""
    return f"{number(row.mean, decimals)} ± {number((row.high - row.low) / 2.0, decimals)}"


def _metals(comparison: Comparison) -> list[str]:
    metals = comparison.scenario.settings.metals
    found = {row.metric.partition(".")[2] for row in comparison.differences if row.metric.startswith("held_pct.")}
    return sorted(found, key=lambda name: (metals[name].ceiling_rh_pct, name))


def _inputs(comparison: Comparison) -> Iterator[Block]:
    if not comparison.inputs:
        yield Paragraph(text="The plans have the same inputs.")
        return
    plans = comparison.plans[:MOST_PLANS]
    wide = (WIDTH - KEY_WIDTH) // len(plans) - 2
    yield Table(
        caption="Inputs that differ",
        columns=[
            Column("Input", numeric=False, short="inputs that differ", most=KEY_WIDTH),
            *(Column(plan, numeric=False, most=wide) for plan in plans),
        ],
        rows=[
            [Cell(row.key), *(Cell(value) for value in row.under[:MOST_PLANS])]
            for row in comparison.inputs[:MOST_INPUTS]
        ],
    )
    more = len(comparison.inputs) - MOST_INPUTS
    if more > 0:
        yield Paragraph(text=f"... and {more} more in inputs.csv", close=True)
    if len(comparison.plans) > MOST_PLANS:
        yield Paragraph(text=f"... and {len(comparison.plans) - MOST_PLANS} more plans in inputs.csv", close=True)


def _table(comparison: Comparison, plan: str) -> Table:
    """Lay out the main metrics of one plan against the reference."""
    reference = comparison.plans[0]
    listed_ = [(f"held_pct.{metal}", 2) for metal in _metals(comparison)]
    for name, decimals in SHOWN:
        listed_ += [
            (row.metric, decimals)
            for row in comparison.differences
            if row.plan == plan
            and (row.metric == name or (name == "excess_pct_days" and row.metric.startswith(f"{name}.")))
        ]
    rows = []
    for metric, decimals in listed_:
        row = comparison.difference(plan, metric)
        own, other = (comparison.summary[name].get(metric) for name in (plan, reference))
        rows.append(
            [
                Cell(metric),
                Cell(row.unit),
                *(Cell(NONE) if one is None else num(one.estimate.mean, decimals) for one in (other, own)),
                num(row.mean, decimals),
                Cell(_interval(row, decimals)),
            ]
        )
    return Table(
        caption=f"{plan} against {reference}",
        columns=[
            Column("Metric", numeric=False, short="metric", most=22),
            Column("Unit", numeric=False, short="unit"),
            Column(reference, most=12),
            Column(plan, most=12),
            Column("Difference", short="difference"),
            Column("Interval", short="interval"),
        ],
        rows=rows,
    )


def _interval(row: Difference, decimals: int) -> str:
    if row.rare_runs == 0:
        return "always" if row.mean else "none seen"
    if row.rare_runs:
        return f"in {row.rare_runs} run{'s' if row.rare_runs > 1 else ''}"
    if math.isnan(row.low):
        return "unknown"
    text = f"{number(row.low, decimals)}..{number(row.high, decimals)}"
    return text if len(text) <= INTERVAL_WIDTH else "too wide"


def _method(comparison: Comparison) -> str:
    runs = comparison.replications
    years = comparison.scenario.settings.years
    if runs < 2:
        return "One run of each plan: there are no intervals; more --replications would show how sure this is."
    text = (
        f"{runs} runs of {years} year{'s' if years > 1 else ''} of each plan under the same luck, from the store's "
        f"state at the start. The intervals of the {comparison.family} differences hold all together at 95 % "
        "(Bonferroni over metrics and plans)."
    )
    ratios = [row.variance_ratio for row in comparison.differences if math.isfinite(row.variance_ratio)]
    if ratios:
        middle = sorted(ratios)[len(ratios) // 2]
        text += f" The same luck cuts the variance of a difference {number(middle, 1)} times (middle of all metrics)."
    skewed = [
        f"{row.metric}: {row.caution}"
        for row in comparison.differences
        if row.caution and row.metric.startswith(("held_pct.", "annual"))
    ]
    if skewed:
        text += f" Caution: {skewed[0]}."
    return text
