"""Plans side by side: whether each holds, which one a report is about, and what a search has proven of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from simstore.plans.found import CHOSEN, FOUND
from simstore.results.judged import MET, NOT_MET, OPEN, verdict
from simstore.results.objective import SIMULATED_COST
from simstore.results.reading import ResultFolder
from simstore.statistics.estimate import Estimate

ON_AVERAGE: Final = "on average"
"""Every standard is met by the mean of the simulated years, but not in each of them."""


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


@dataclass(frozen=True, slots=True)
class Proof:
    """What a search has proven of a plan on fresh runs, which had no part in choosing it.

    Attributes
    ----------
    good, runs : int
        Runs in which every standard was met in each year, and all.
    years : int
        Length of a run.
    share_low : float
        Lower limit of the true share.
    folder : ResultFolder
        The search; its summary has the means over the fresh runs, as plan "chosen".
    """

    good: int
    runs: int
    years: int
    share_low: float
    folder: ResultFolder


def proof_of(folders: Sequence[ResultFolder], plan: str) -> Proof | None:
    """Find what a search has proven of the plan that it found; None for any other plan."""
    for folder in folders:
        document = folder.document("find.json")
        fresh = document["chosen"]["fresh"] if document is not None and document["chosen"] is not None else None
        if fresh is not None and plan in (FOUND, CHOSEN):
            years = int(document["asked"]["years_of_a_run"]) if document is not None else 1
            return Proof(int(fresh["good_years"]), int(fresh["replications"]), years, float(fresh["share_low"]), folder)
    return None


def tightest_metal(folder: ResultFolder) -> str:
    """Metal class with the least margin above its standard over all plans; the one that decides."""
    margins: dict[str, float] = {}
    for plan in folder.plans:
        settings = folder.settings_of(plan)
        for metal in verdicts(folder, plan):
            held = folder.summary[plan][f"held_pct.{metal}"].estimate.mean
            margin = held - settings.metals[metal].standard_pct
            margins[metal] = min(margin, margins.get(metal, margin))
    return min(margins, key=lambda metal: (margins[metal], metal))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """One plan beside the others; a year of it.

    Attributes
    ----------
    verdict : str
        As :func:`verdict_of_all` says.
    held, cost : Estimate
        Share of object-days of the metal class that decides, and annual-equivalent cost.
    role : str
        "chosen" for the plan of the report if it holds, "today" for the scenario's own choice, else empty.
    beaten : bool
        Whether another plan costs no more and holds no less.
    """

    name: str
    label: str
    verdict: str
    held: Estimate
    cost: Estimate
    hours: float
    exchanges: float
    gel_kg: float
    years_met: float
    role: str
    beaten: bool


def plan_rows(folder: ResultFolder, lead: str) -> list[PlanRow]:
    """Set the plans of a folder side by side; where it does not have ``lead``, the cheapest that holds is chosen."""
    metal = tightest_metal(folder)
    best = lead if lead in folder.plans else leading_plan(folder)
    ends = {
        plan: (folder.summary[plan][SIMULATED_COST].estimate, folder.summary[plan][f"held_pct.{metal}"].estimate)
        for plan in folder.plans
    }
    rows = []
    for plan, (cost, held) in ends.items():
        summary, said = folder.summary[plan], verdict_of_all(folder, plan)
        holds = said in (MET, ON_AVERAGE)
        today = plan == folder.scenario.settings.default_plan
        rows.append(
            PlanRow(
                name=plan,
                label=folder.label_of(plan).removeprefix(f"{plan}: "),
                verdict=said,
                held=held,
                cost=cost,
                hours=summary["staff_h"].estimate.mean,
                exchanges=summary["exchanges"].estimate.mean,
                gel_kg=summary["gel_bought_kg"].estimate.mean,
                years_met=summary["years_met"].estimate.mean,
                role="chosen" if plan == best and holds else "today" if today else "",
                beaten=any(
                    other.mean <= cost.mean and share.mean >= held.mean
                    for name, (other, share) in ends.items()
                    if name != plan
                ),
            )
        )
    return rows
