"""The result in words for the terminal: the answer first, then what it takes, and what to look at; and cautions."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from simstore.prose.terminal import aligned, listed, number, share_limits_said, share_said, wrapped
from simstore.results.judged import MET, NOT_MET, OPEN, verdict
from simstore.results.summary import Measured
from simstore.scenario.checking.cautions import LAST_WORD, work_cautions
from simstore.scenario.scenario import Scenario
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


def result_words(
    scenario: Scenario, plan: str, metrics: dict[str, Measured], enclosures: pd.DataFrame, replications: int
) -> str:
    """Say how one plan did, in lines of at most 80 characters.

    Parameters
    ----------
    scenario : Scenario
        The scenario with the plan's own changes made.
    plan : str
        Name of the plan.
    metrics : dict of str to Measured
        The plan's part of the summary.
    enclosures : DataFrame
        That table of the results; rows of other plans are left out.
    replications : int
        Replications of the plan.
    """
    settings = scenario.settings
    of_plan = enclosures[enclosures["plan"] == plan]
    metals = sorted(set(of_plan["metal"]), key=lambda name: (settings.metals[name].ceiling_rh_pct, name))
    held = {name: metrics[f"held_pct.{name}"].estimate for name in metals}
    blocks = [
        wrapped(_answer(plan, held, settings)),
        _held_table(held, settings),
        wrapped(_years(metrics["years_met"].estimate, replications, settings)),
        _effort_table(metrics, settings.prices.currency),
        _worst_lines(of_plan, settings),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _answer(plan: str, held: dict[str, Estimate], settings: Settings) -> str:
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
            f"Plan '{plan}': too close to tell whether it keeps {listed(by_verdict['open'])} as the standard asks; "
            "more replications would tell."
        )
    return f"Plan '{plan}' keeps every metal class under its ceiling as the standards ask."


def _held_table(held: dict[str, Estimate], settings: Settings) -> str:
    rows = [("metal", "ceiling", "standard", "held", "95 % interval", "")]
    for name, estimate in held.items():
        metal = settings.metals[name]
        interval = "" if math.isnan(estimate.low) else share_limits_said(estimate.low, estimate.high)
        rows.append(
            (
                name,
                f"{metal.ceiling_rh_pct:g} %RH",
                f"{metal.standard_pct:g} %",
                share_said(estimate.mean),
                interval,
                verdict(estimate, metal),
            )
        )
    return aligned(rows)


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


def _effort_table(metrics: dict[str, Measured], currency: str) -> str:
    rows = [("a year of this plan takes", "mean", "95 % interval")]
    for name, label, decimals in EFFORT:
        estimate = metrics[name].estimate
        spread = not math.isnan(estimate.low) and estimate.high - estimate.low > 0
        # The t limits of a few counts may lie below 0, where no count lies.
        low = max(estimate.low, 0.0) if estimate.mean >= 0 else estimate.low
        interval = f"{number(low, decimals)} to {number(estimate.high, decimals)}" if spread else ""
        rows.append((f"  {label.format(currency=currency)}", number(estimate.mean, decimals), interval))
    return aligned(rows)


def _worst_lines(enclosures: pd.DataFrame, settings: Settings) -> str:
    """Name the enclosures with the highest excess, and what about each may explain it."""
    columns = ["excess_pct_days", "leak_per_day", "worst_rh_pct", "exchanges"]
    how = {column: "max" if column == "worst_rh_pct" else "mean" for column in columns}
    mean = enclosures.groupby(["enclosure", "kind", "metal"], sort=True).agg(how).reset_index()
    mean = mean.assign(median=mean.groupby("kind")["leak_per_day"].transform("median"))
    worst = mean[mean["excess_pct_days"] > 0].sort_values("excess_pct_days", ascending=False, kind="stable").head(WORST)
    if worst.empty:
        return "No enclosure goes over its ceiling."
    alone = len(set(enclosures["replication"])) == 1
    run = "" if alone else ", mean of the replications; the highest humidity is that of the worst one"
    lines = [wrapped(f"Look at these first (most humidity over the ceiling{run}):")]
    for row in worst.to_dict("records"):
        times = row["leak_per_day"] / row["median"]
        leak = f"leaks {row['leak_per_day']:.2g} air changes a day"
        leak += f", {times:.2g} times its kind's middle" if times >= LEAKY else ", as most of its kind do"
        text = (
            f"{row['enclosure']} ({settings.kinds[row['kind']].label}, {row['metal']}): "
            f"{number(row['excess_pct_days'], 0)} %RH days over, up to {row['worst_rh_pct']:.0f} %RH; {leak}; "
            f"{row['exchanges']:.2g} exchange{'' if row['exchanges'] == 1 else 's'}"
        )
        lines.append(wrapped(text, first="  - ", then="    "))
    return "\n".join(lines)


def cautions(plans: Iterable[tuple[dict[str, Measured], Settings]]) -> str:
    """List the cautions that the work of plans needs, each once; empty where nobody handles or heats anything.

    Parameters
    ----------
    plans : iterable of (dict of str to Measured, Settings)
        Metrics of each plan, and the settings with its own changes made.
    """
    found = [
        caution
        for metrics, settings in plans
        for caution in work_cautions(
            settings,
            heats=metrics["loads"].estimate.mean > 0,
            handles=metrics["exchanges"].estimate.mean > 0,
        )
    ]
    if not found:
        return ""
    notes = [*dict.fromkeys(f"{caution.action}: {caution.text}" for caution in found), LAST_WORD]
    return "\n".join(["Cautions", *(wrapped(note, first="  - ", then="    ") for note in notes)])
