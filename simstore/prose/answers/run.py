"""A run in words: the answer first, then what each plan takes, and what to look at; and cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final

from simstore.prose.blocks import Block, Cell, Column, Paragraph, Points, Table
from simstore.prose.phrases import NBSP, begun, listed, number, percent, share_limits_said, share_said
from simstore.results.judged import MET, NOT_MET, OPEN, verdict
from simstore.results.summary import Measured
from simstore.scenario.values.settings import Settings
from simstore.statistics.estimate import Estimate

if TYPE_CHECKING:
    import pandas as pd

WORST: Final = 3
"""Enclosures that are named."""
LEAKY: Final = 1.5
"""So many times the middle leak of its kind is worth a word."""
EFFORT: Final = (
    ("exchanges", "enclosures with gel exchanged", 0),
    ("loads", "oven loads", 1),
    ("staff_h", "hours at work", 0),
    ("peak_week_h", "hours in the busiest week", 1),
    ("gel_bought_kg", "gel bought, kg", 1),
    ("energy_kwh", "electricity, kWh", 0),
    ("cost_per_year", "running costs, {currency}", 0),
    ("annual_equivalent_cost", "with capital, {currency}", 0),
    ("overdue", "jobs a week late or more at the end", 1),
)
"""Metric, how it is called, decimals."""


def plan_blocks(
    settings: Settings, plan: str, metrics: Mapping[str, Measured], enclosures: pd.DataFrame, replications: int
) -> Iterator[Block]:
    """Say how one plan did.

    Parameters
    ----------
    settings : Settings
        With the plan's own changes made.
    plan : str
        Name of the plan.
    metrics : mapping of str to Measured
        The plan's part of the summary.
    enclosures : DataFrame
        That table of the results; rows of other plans are left out.
    replications : int
        Replications of the plan.
    """
    held = _held(metrics, settings)
    table, *rest = figures_of_plan(settings, plan, metrics, enclosures)
    yield Paragraph(text=_answer(plan, held, settings))
    yield from too_dry(metrics, settings)
    yield table
    yield Paragraph(text=_years(metrics["years_met"].estimate, replications, settings))
    yield from rest


def figures_of_plan(
    settings: Settings, plan: str, metrics: Mapping[str, Measured], enclosures: pd.DataFrame
) -> Iterator[Block]:
    """Lay out what one plan holds and takes, and which enclosures to look at first; as for :func:`plan_blocks`."""
    yield held_table(_held(metrics, settings), settings, judged=True)
    yield _effort_table(metrics, settings.prices.currency)
    yield from _worst(enclosures[enclosures["plan"] == plan], settings)


def too_dry(metrics: Mapping[str, Measured], settings: Settings) -> Iterator[Block]:
    """Say where objects with a lower limit are dried below it, which no drier gel mends."""
    for name, measured in metrics.items():
        metric, _, metal = name.partition(".")
        if metric == "too_dry_pct" and measured.estimate.mean > 0.0:
            limit = settings.metals[metal].lower_limit_rh_pct
            below = "the lower limits of the register" if limit is None else f"the lower limit of {limit:g}{NBSP}%RH"
            yield Paragraph(
                text=f"Too dry: {metal} lies below {below} on {percent(measured.estimate.mean)} of object-days, and "
                "these are not held. Less gel, or gel that is not dried so far, would be needed there. Wood, leather, "
                "bone and the like crack: somebody who knows such finds must decide."
            )


def _held(metrics: Mapping[str, Measured], settings: Settings) -> dict[str, Estimate]:
    """Held share of each metal class that has objects, lowest ceiling first."""
    names = [name.partition(".")[2] for name in metrics if name.startswith("held_pct.")]
    ordered = sorted(names, key=lambda name: (settings.metals[name].ceiling_rh_pct, name))
    return {name: metrics[f"held_pct.{name}"].estimate for name in ordered}


def _answer(plan: str, held: Mapping[str, Estimate], settings: Settings) -> str:
    by_verdict: dict[str, list[str]] = {MET: [], NOT_MET: [], OPEN: []}
    for name, estimate in held.items():
        by_verdict[verdict(estimate, settings.metals[name])].append(name)
    if by_verdict[NOT_MET]:
        failing = [
            f"{name} under {settings.metals[name].ceiling_rh_pct:g} %RH ({share_said(held[name].mean)} of object-days, "
            f"standard {settings.metals[name].standard_pct:g} %)"
            for name in by_verdict[NOT_MET]
        ]
        return f"Plan '{plan}' does NOT keep {listed(failing)}."
    if by_verdict[OPEN]:
        return (
            f"Plan '{plan}': too close to tell whether it keeps {listed(by_verdict[OPEN])} as the standard asks; "
            "more replications would tell."
        )
    return f"Plan '{plan}' keeps every metal class under its ceiling as the standards ask."


def held_table(held: Mapping[str, Estimate], settings: Settings, *, judged: bool = False) -> Table:
    """Lay out the held share of each metal class beside its standard; ``judged`` adds whether that is met."""
    columns = [
        Column("Metal", numeric=False, short="metal"),
        *(Column(begun(head), short=head) for head in ("ceiling", "standard", "held")),
    ]
    columns += [Column("95 % interval"), *([Column("", numeric=False)] if judged else [])]
    rows = []
    for name, estimate in held.items():
        metal = settings.metals[name]
        interval = "" if math.isnan(estimate.low) else share_limits_said(estimate.low, estimate.high)
        rows.append(
            [
                Cell(name),
                Cell(f"{metal.ceiling_rh_pct:g}{NBSP}%RH", f"{metal.ceiling_rh_pct:g}"),
                Cell(f"{metal.standard_pct:g}{NBSP}%", f"{metal.standard_pct:g}"),
                Cell(share_said(estimate.mean), f"{estimate.mean:.10g}"),
                Cell(interval),
                *([Cell(verdict(estimate, metal))] if judged else []),
            ]
        )
    return Table(caption="Share of object-days under the ceiling", columns=columns, rows=rows)


def _years(met: Estimate, replications: int, settings: Settings) -> str:
    length = ""
    if settings.days is not None:
        length = f" of {settings.days} days"
    elif settings.years > 1:
        length = f" of {settings.years} years"
    noun = f"simulated {'run' if length else 'year'}"
    if replications == 1:
        outcome = "All standards are met" if met.mean == 1 else "Not all standards are met"
        return f"{outcome} in the one {noun}{length}; more replications would show how sure that is."
    count = round(met.mean * replications)
    return (
        f"All standards are met in {count} of {replications} {noun}s{length}; the true share lies between "
        f"{100 * met.low:.0f} and {100 * met.high:.0f} % (95 % interval)."
    )


def _effort_table(metrics: Mapping[str, Measured], currency: str) -> Table:
    rows = []
    for name, label, decimals in EFFORT:
        estimate = metrics[name].estimate
        spread = not math.isnan(estimate.low) and estimate.high - estimate.low > 0
        # The t limits of a few counts may lie below 0, where no count lies.
        low = max(estimate.low, 0.0) if estimate.mean >= 0 else estimate.low
        interval = f"{number(low, decimals)} to {number(estimate.high, decimals)}" if spread else ""
        rows.append(
            [
                Cell(label.format(currency=currency)),
                Cell(number(estimate.mean, decimals), f"{estimate.mean:.10g}"),
                Cell(interval),
            ]
        )
    columns = [
        Column("A year takes", numeric=False, short="a year of this plan takes"),
        Column("Mean", short="mean"),
        Column("95 % interval"),
    ]
    return Table(caption="What a year of this plan takes", columns=columns, rows=rows, indented=True)


def _worst(enclosures: pd.DataFrame, settings: Settings) -> Iterator[Block]:
    """Name the enclosures with the highest excess, and what about each may explain it."""
    columns = ["excess_pct_days", "leak_per_day", "worst_rh_pct", "exchanges"]
    how = {column: "max" if column == "worst_rh_pct" else "mean" for column in columns}
    mean = enclosures.groupby(["enclosure", "kind", "metal"], sort=True).agg(how).reset_index()
    mean = mean.assign(median=mean.groupby("kind")["leak_per_day"].transform("median"))
    worst = mean[mean["excess_pct_days"] > 0].sort_values("excess_pct_days", ascending=False, kind="stable").head(WORST)
    if worst.empty:
        yield Paragraph(text="No enclosure goes over its ceiling.")
        return
    alone = len(set(enclosures["replication"])) == 1
    run = "" if alone else ", mean of the replications; the highest humidity is that of the worst one"
    yield Paragraph(text=f"Look at these first (most humidity over the ceiling{run}):")
    points = []
    for row in worst.to_dict("records"):
        times = row["leak_per_day"] / row["median"]
        leak = f"leaks {row['leak_per_day']:.2g} air changes a day"
        leak += f", {times:.2g} times its kind's middle" if times >= LEAKY else ", as most of its kind do"
        text = (
            f"{row['enclosure']} ({settings.kinds[row['kind']].label}, {row['metal']}): "
            f"{number(row['excess_pct_days'], 0)} %RH days over, up to {row['worst_rh_pct']:.0f} %RH; {leak}; "
            f"{row['exchanges']:.2g} exchange{'' if row['exchanges'] == 1 else 's'}"
        )
        points.append(("", text))
    yield Points(points=points, close=True)
