"""The four answers beside the verdict: what to buy, how many hours and ovens, what it costs, how sure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from simstore.prose.blocks import Fact
from simstore.prose.phrases import (
    NBSP,
    begun,
    counted,
    figures,
    listed,
    money_said,
    number,
    runs_said,
    share_said,
    with_unit,
)
from simstore.prose.sections.forms import FORMS
from simstore.results.budget import Budget, Outlay
from simstore.results.leading import Proof, proof_of
from simstore.results.pooled import of_plan
from simstore.results.reading import ResultFolder
from simstore.scenario.values.settings import Settings
from simstore.statistics.estimate import Estimate
from simstore.units import DAYS_PER_WEEK, DAYS_PER_YEAR

PUT_OFF: Final = 0.2
"""Water that is left in the gel, as a share of what was dried, from which on work counts as put off."""


def facts_of(folder: ResultFolder, plan: str, budget: Budget, others: Sequence[ResultFolder]) -> list[Fact]:
    """Answer each question about ``plan``; ``others`` are studies that may know more of it."""
    settings = folder.settings_of(plan)
    return [
        _to_buy(folder, plan, budget, settings),
        _work(folder, plan, budget, settings),
        _cost(folder, plan, budget),
        _sure(folder, plan, settings, proof_of([folder, *others], plan), doubt_said([folder, *others], plan)),
    ]


def outlay_said(part: Outlay, settings: Settings) -> str:
    """Say one purchase before the run begins, as "1 oven"; with its name where the scenario has several sorts."""
    one, many, label, sorts = "oven", "ovens", part.name, len(settings.ovens)
    if part.unit == "enclosures":
        kind = settings.kinds[part.name]
        one, many, label = kind.form, FORMS[kind.form], kind.label
        sorts = sum(1 for each in settings.kinds.values() if each.form == kind.form)
    elif part.unit == "packets":
        one, many, label, sorts = "packet", "packets", settings.packets[part.name].label, len(settings.packets)
    return f"{number(part.quantity)}{NBSP}{one if part.quantity == 1 else many}" + (f" ({label})" if sorts > 1 else "")


def _to_buy(folder: ResultFolder, plan: str, budget: Budget, settings: Settings) -> Fact:
    summary = folder.summary[plan]
    gel_kg = summary["gel_bought_kg"].estimate.mean
    new_gel_kg = sum(part.gel_kg for part in budget.outlays)
    packets = _bought_packets(folder, plan)
    first = [outlay_said(part, settings) for part in budget.outlays if part.name]
    in_packets = f" in {counted(round(packets), 'packet')}" if packets else ""
    later = f"{figures(gel_kg)}{NBSP}kg of gel{in_packets} a year" if gel_kg > 0 else ""
    if plan not in folder.scenario.settings.plans:
        return Fact("To buy", later or "No gel", "Ovens and packets: see a run of this plan.")
    if first:
        gel = f", with {figures(new_gel_kg)}{NBSP}kg of gel" if new_gel_kg else ""
        said = f"{begun(listed(first))}{gel}"
        detail = f"Before the year begins. During it: {later or 'no gel'}."
    elif later:
        said, detail = later, "Nothing before the year begins: ovens, boxes, bags and packets are there."
    else:
        said = "Nothing"
        stock = [f"{counted(s.ready + s.spent, 'packet')} beside those in use" for s in settings.stock.values()]
        ovens = sum(oven.count for oven in settings.ovens.values())
        there = listed([counted(ovens, "oven"), *stock]) if ovens or stock else "what is there"
        several = ovens + len(stock) > 1
        short = [sort for sort in settings.stock if _ran_out(folder, plan, sort)]
        if short:
            names = listed([settings.packets[sort].label for sort in short])
            detail = f"No gel, packets or ovens. But ready packets ran out at times ({names}), and exchanges waited."
        else:
            detail = f"No gel, packets or ovens: {there} {'are' if several else 'is'} enough."
    return Fact("To buy", said, detail)


def _ran_out(folder: ResultFolder, plan: str, sort: str) -> bool:
    """Whether at the end of some day of an ordinary run no packet of a sort was ready."""
    least = folder.summary[plan].get(f"least_ready.{sort}")
    return least is not None and least.estimate.mean < 1.0


def _bought_packets(folder: ResultFolder, plan: str) -> float:
    if not folder.has_runs:
        return 0.0
    orders = folder.tables["orders"]
    bought = float(orders.loc[orders["plan"] == plan, "packets"].sum()) / folder.replications
    days = int(folder.tables["days"]["day"].max()) + 1
    return bought / (days / DAYS_PER_YEAR)


def _work(folder: ResultFolder, plan: str, budget: Budget, settings: Settings) -> Fact:
    summary = folder.summary[plan]
    hours = summary["staff_h"].estimate.mean
    ovens = sum(oven.count for oven in settings.ovens.values())
    a_week = hours / DAYS_PER_YEAR * DAYS_PER_WEEK
    loads = summary["loads"].estimate.mean
    detail = (
        f"{figures(a_week)}{NBSP}h in a mean week, {figures(summary['peak_week_h'].estimate.mean)}{NBSP}h in the "
        f"busiest; {number(summary['exchanges'].estimate.mean)} exchanges, {number(loads)} oven loads"
    )
    before = [f"{number(budget.moving_h)}{NBSP}h of re-housing"] if budget.moving_h else []
    if budget.testing_h:
        known = sum(one.leak_known for one in folder.scenario.enclosures)
        before.append(
            f"{number(budget.testing_h)}{NBSP}h to measure leaks, which this plan goes by (the register has "
            f"{number(known) if known else 'none'} of {number(len(folder.scenario.enclosures))})"
        )
    if before:
        detail += f". Before the year begins: {listed(before)}"
    return Fact("Hours and ovens", f"{number(hours)}{NBSP}h a year, {counted(ovens, 'oven')}", f"{detail}.")


def _cost(folder: ResultFolder, plan: str, budget: Budget) -> Fact:
    years = budget.longest_life_years
    first = money_said(budget.first_year, budget.currency)
    whole = money_said(budget.whole_per_year, budget.currency)
    outlay = f" {money_said(budget.outlay, budget.currency)} before it begins, then" if budget.outlay else ""
    spread = summary_span(folder.summary[plan]["annual_equivalent_cost"].estimate)
    later = put_off(folder, plan)
    alike = ", if later years are like it" if later else ""
    return Fact(
        "Cost",
        f"{first} this year; {whole} a year over the life of the equipment{alike}",
        f"This year:{outlay} labour, gel, energy, disposal. Over life: with an equal yearly share of all that lasts, "
        f"used or new, gel in use and the labour of renewing too, at {figures(budget.discount_pct)}{NBSP}% a "
        f"year{spread}; worth {money_said(budget.present_value(years), budget.currency)} today over {figures(years)} "
        f"years.{later}",
    )


def put_off(folder: ResultFolder, plan: str) -> str:
    """Say whether the run lives off gel that was dry at its start, so that later years ask for more; else empty."""
    if "balance" not in folder.tables:
        return ""
    rows = of_plan(folder.tables, "balance", plan)
    water_kg = rows[rows["book"] == "water"].groupby("entry")["kg"].sum() / folder.replications
    start_kg, end_kg, dried_kg = (float(water_kg.get(name, 0.0)) for name in ("start", "end", "driven_off"))
    if end_kg - start_kg <= PUT_OFF * abs(dried_kg):
        return ""
    return (
        f" The gel ends wetter than it began ({figures(start_kg)} to {figures(end_kg)}{NBSP}kg of water): part of the "
        "work is put off to later years, which will cost more; simulate several years before you promise this cost."
    )


def summary_span(estimate: Estimate) -> str:
    """Say an interval as ", 95 % limits 4 866 to 5 008"; empty where there is none."""
    if math.isnan(estimate.low) or estimate.low == estimate.high:
        return ""
    return f", 95{NBSP}% limits {number(estimate.low)} to {number(estimate.high)}"


def doubt_said(folders: Sequence[ResultFolder], plan: str) -> str:
    """Say which end of an uncertain input does a metal class most harm, if it breaks the standard; else empty."""
    for folder in folders:
        effects, inputs = folder.study_table("effects.csv"), folder.study_table("inputs.csv")
        asked = folder.facts.get("asked", {}).get("plan")
        if folder.command != "sensitivity" or asked != plan or effects is None or inputs is None:
            continue
        metals = folder.scenario.settings.metals
        ends = [
            (float(row["result"]) - metals[name].standard_pct, float(row["result"]), name, row)
            for row in effects.to_dict("records")
            if (name := str(row["metric"]).removeprefix("held_pct.")) in metals
        ]
        over, held, name, row = min(ends, key=lambda end: end[0], default=(0.0, 0.0, "", {}))
        if over >= 0.0:
            return ""
        known, end = str(row["input"]), str(row["end"])
        one = inputs.set_index("input").loc[known]
        value = with_unit(figures(float(str(one[end])), 3), str(one["unit"]).replace("nan", ""))
        now = figures(float(str(one["in_use"])), 3)
        label, metal = one["label"], metals[name].label
        return f" If “{label}” is {value} instead of {now}, {metal} is held on {share_said(held)} only."
    return ""


def _sure(folder: ResultFolder, plan: str, settings: Settings, proof: Proof | None, doubt: str) -> Fact:
    met, count = folder.summary[plan]["years_met"].estimate, folder.replications
    times = round(met.mean * count)
    luck = f"This is luck only; whether the inputs are right is another question.{doubt}"
    if proof is not None:
        return Fact(
            "How sure",
            f"All standards met in {proof.good} of {proof.runs} fresh {runs_said(proof.years, proof.runs)}",
            f"No choice has seen them: the true share of such {runs_said(proof.years, 2)} is at least "
            f"{figures(100 * proof.share_low, 3)}{NBSP}%. On this page it was {times} of {count} "
            f"{runs_said(settings.years, count)}. {luck}",
        )
    return Fact(
        "How sure",
        f"All standards met in {times} of {count} simulated {runs_said(settings.years, count)}",
        f"So the true share of such {runs_said(settings.years, 2)} lies between {number(100 * met.low)} and "
        f"{number(100 * met.high)}{NBSP}% (exact 95{NBSP}% limits). {luck}",
    )
