"""The first screen: does the plan hold, what to buy, how many hours and ovens, what it costs, how sure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from simstore.report.budget import MOVING, Budget, Outlay
from simstore.report.page_parts import Cell, Fact, Head, Table, Tone, held_said, money
from simstore.report.phrases import NBSP, begun, counted, figures, listed, number
from simstore.report.pooled import of_plan
from simstore.report.result_folder import ResultFolder
from simstore.results.intervals import Estimate
from simstore.results.words import verdict
from simstore.scenario.value import Settings
from simstore.study.found_plan import FOUND
from simstore.units import DAYS_PER_WEEK, DAYS_PER_YEAR

MET, NOT_MET, OPEN = "met", "NOT met", "open"
TONES: Final[dict[str, Tone]] = {MET: "good", NOT_MET: "bad", OPEN: "open", "on average": "open"}
PUT_OFF: Final = 0.2
"""Water that is left in the gel, as a share of what was dried, from which on work counts as put off."""
ON_AVERAGE: Final = "on average"
SAID: Final = {MET: "holds", NOT_MET: "does not hold", OPEN: "too close to tell", ON_AVERAGE: "holds on average only"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What stands on the first screen.

    Attributes
    ----------
    tone : str
        "good", "bad" or "open", for the mark beside the headline; the words say the same.
    """

    tone: Tone
    headline: str
    explained: str
    metals: Table
    facts: Sequence[Fact]


def verdicts(folder: ResultFolder, plan: str) -> dict[str, str]:
    """By metal class, lowest ceiling first: "met", "NOT met" or "open"."""
    settings, summary = folder.settings_of(plan), folder.summary[plan]
    names = [name.partition(".")[2] for name in summary if name.startswith("held_pct.")]
    ordered = sorted(names, key=lambda name: (settings.metals[name].ceiling_rh_pct, name))
    return {name: verdict(summary[f"held_pct.{name}"].estimate, settings.metals[name]) for name in ordered}


def verdict_of_all(folder: ResultFolder, plan: str) -> str:
    """Return the worst verdict of all metal classes; :data:`ON_AVERAGE` if some simulated year missed a standard.

    Where a study has judged many plans together, what it does not count as kept is open at best.
    """
    found = set(verdicts(folder, plan).values())
    if not folder.judged.get(plan, True):
        found.add(OPEN)
    elif folder.judged:
        return MET
    for said in (NOT_MET, OPEN):
        if said in found:
            return said
    return MET if folder.summary[plan]["years_met"].estimate.mean == 1.0 else ON_AVERAGE


def leading_plan(folder: ResultFolder) -> str:
    """Choose the plan that the report is about, where the user names none.

    It is the plan that a search has found, or the undisturbed plan of a study of one. Otherwise it is the cheapest of
    those that hold in every simulated year; failing that, the cheapest of those that hold on average; failing that,
    the scenario's own choice.
    """
    if folder.command in ("find", "stress", "sensitivity"):
        return next(iter(folder.summary))
    cost = {plan: folder.summary[plan]["annual_equivalent_cost"].estimate.mean for plan in folder.plans}
    if FOUND in folder.plans:
        return FOUND
    holding = [plan for plan in folder.plans if verdict_of_all(folder, plan) in (MET, ON_AVERAGE)]
    always = [plan for plan in holding if verdict_of_all(folder, plan) == MET]
    for group in (always, holding):
        if group:
            return min(group, key=lambda plan: (cost[plan], plan))
    default = folder.scenario.settings.default_plan
    return default if default in folder.plans else folder.plans[0]


def answer(folder: ResultFolder, plan: str, budget: Budget, *, named: bool) -> Answer:
    """Put together the first screen for ``plan``.

    Parameters
    ----------
    folder : ResultFolder
    plan : str
    budget : Budget
        That of ``plan``.
    named : bool
        Whether the user has named the plan; otherwise the page says why it was chosen.
    """
    found = verdicts(folder, plan)
    settings = folder.settings_of(plan)
    return Answer(
        tone=TONES[verdict_of_all(folder, plan)],
        headline=_headline(folder, plan, found, settings),
        explained=_explained(folder, plan, named=named),
        metals=_metals(folder, plan, found, settings),
        facts=[
            _to_buy(folder, plan, budget, settings),
            _work(folder, plan, budget, settings),
            _cost(folder, plan, budget),
            _sure(folder, plan, settings),
        ],
    )


def _headline(folder: ResultFolder, plan: str, found: dict[str, str], settings: Settings) -> str:
    failing = [name for name, said in found.items() if said == NOT_MET]
    if failing:
        parts = []
        for name in failing:
            metal = settings.metals[name]
            held = folder.summary[plan][f"held_pct.{name}"].estimate.mean
            limit = f"{figures(metal.ceiling_rh_pct, 3)}{NBSP}%RH"
            share = f"{held_said(held)} of object-days"
            parts.append(f"{metal.label} is under {limit} on {share}, not {figures(metal.standard_pct, 4)}{NBSP}%")
        return f"The plan does not hold: {'; '.join(parts)}."
    unsure = [settings.metals[name].label for name, said in found.items() if said == OPEN]
    if unsure:
        return f"Too close to tell: more simulated years must show whether {listed(unsure)} keeps its standard."
    which = "the one metal class keeps" if len(found) == 1 else "every metal class keeps"
    met = folder.summary[plan]["years_met"].estimate.mean
    if met < 1.0:
        missed = folder.replications - round(met * folder.replications)
        return (
            f"The plan holds on average: {which} its standard, but in {missed} of {folder.replications} simulated "
            "years one did not."
        )
    return f"The plan holds: {which} its standard, in every simulated year."


def _explained(folder: ResultFolder, plan: str, *, named: bool) -> str:
    text = f"Plan “{plan}”: {folder.label_of(plan).removeprefix(f'{plan}: ')}."
    if plan in (FOUND, "chosen"):
        text += " It is the cheapest that a search has proven to hold." if plan == FOUND else ""
    elif len(folder.plans) > 1 and not named:
        cost = {name: folder.summary[name]["annual_equivalent_cost"].estimate.mean for name in folder.plans}
        holding = [name for name in folder.plans if verdict_of_all(folder, name) == MET]
        if plan in holding and cost[plan] == min(cost[name] for name in holding):
            text += f" The cheapest of {len(folder.plans)} plans simulated that holds in every simulated year."
        elif not holding:
            text += f" None of {len(folder.plans)} plans simulated is sure to hold; this is the scenario's own choice."
    return text


def _metals(folder: ResultFolder, plan: str, found: dict[str, str], settings: Settings) -> Table:
    rows = []
    for name, said in found.items():
        metal, estimate = settings.metals[name], folder.summary[plan][f"held_pct.{name}"].estimate
        rows.append(
            [
                Cell(begun(metal.label)),
                Cell(f"{figures(metal.ceiling_rh_pct, 3)}{NBSP}%RH", f"{metal.ceiling_rh_pct:g}"),
                Cell(f"{figures(metal.standard_pct, 4)}{NBSP}%", f"{metal.standard_pct:g}"),
                Cell(held_said(estimate.mean), f"{estimate.mean:.10g}"),
                Cell(SAID[said], tone=TONES[said]),
            ]
        )
    return Table(
        id="metals",
        caption="Does it hold? Share of object-days under the ceiling",
        heads=[
            Head("Metal", numeric=False),
            Head("Ceiling"),
            Head("Standard"),
            Head("Held"),
            Head("So", numeric=False),
        ],
        rows=rows,
    )


def outlay_said(part: Outlay, settings: Settings) -> str:
    """Say one purchase before the run begins, as "1 oven (small)"."""
    head, _, name = part.label.removeprefix("new ").partition(": ")
    label = name
    if head == "enclosures" and name in settings.kinds:
        label = settings.kinds[name].label
        head = "boxes" if settings.kinds[name].form == "box" else "bags"
    elif head == "packets" and name in settings.packets:
        label = settings.packets[name].label
    noun = head.removesuffix("es" if head == "boxes" else "s") if part.quantity == 1 else head
    return f"{number(part.quantity)}{NBSP}{noun} ({label})"


def _to_buy(folder: ResultFolder, plan: str, budget: Budget, settings: Settings) -> Fact:
    summary = folder.summary[plan]
    gel_kg = summary["gel_bought_kg"].estimate.mean
    new_gel_kg = sum(
        part.quantity * settings.packets[name].gel_kg
        for part in budget.outlays
        if (name := part.label.removeprefix("new packets: ")) in settings.packets
    )
    packets = _bought_packets(folder, plan)
    first = [outlay_said(part, settings) for part in budget.outlays if part.label != MOVING]
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
        detail = f"No gel, packets or ovens: {there} {'are' if ovens + len(stock) > 1 else 'is'} enough."
    return Fact("To buy", said, detail)


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
    if budget.moving_h:
        detail += f". Before the year begins: {number(budget.moving_h)}{NBSP}h of re-housing"
    return Fact("Hours and ovens", f"{number(hours)}{NBSP}h a year, {counted(ovens, 'oven')}", f"{detail}.")


def _cost(folder: ResultFolder, plan: str, budget: Budget) -> Fact:
    years = budget.longest_life_years
    first = money(budget.first_year, budget.currency)
    whole = money(budget.whole_per_year, budget.currency)
    outlay = f" {money(budget.outlay, budget.currency)} before it begins, then" if budget.outlay else ""
    spread = summary_span(folder.summary[plan]["annual_equivalent_cost"].estimate)
    return Fact(
        "Cost",
        f"{first} this year; {whole} a year over the life of the equipment",
        f"This year:{outlay} labour, gel, energy, disposal. Over life: with an equal yearly share of what lasts, used "
        f"or new, at {figures(budget.discount_pct)}{NBSP}% a year{spread}; worth "
        f"{money(budget.present_value(years), budget.currency)} today over {figures(years)} years."
        f"{put_off(folder, plan)}",
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


def _sure(folder: ResultFolder, plan: str, settings: Settings) -> Fact:
    met, count = folder.summary[plan]["years_met"].estimate, folder.replications
    length = "year" if settings.years == 1 else f"run of {settings.years} years"
    times = round(met.mean * count)
    return Fact(
        "How sure",
        f"All standards met in {times} of {count} simulated {length}{'s' if count > 1 else ''}",
        f"So the true share of such {length}s lies between {number(100 * met.low)} and {number(100 * met.high)}{NBSP}% "
        f"(exact 95{NBSP}% limits). This is luck only; whether the inputs are right is another question.",
    )
