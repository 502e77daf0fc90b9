"""The first screen: does the plan hold, what to buy, how many hours and ovens, what it costs, how sure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from simstore.plans.found import CHOSEN, FOUND
from simstore.prose.blocks import Cell, Column, Fact, Table, Tone
from simstore.prose.phrases import NBSP, begun, figures, listed, runs_said, share_said
from simstore.prose.sections.facts import facts_of
from simstore.results.budget import Budget
from simstore.results.judged import MET, NOT_MET, OPEN
from simstore.results.leading import ON_AVERAGE, Proof, proof_of, verdict_of_all, verdicts
from simstore.results.reading import ResultFolder
from simstore.scenario.values.settings import Settings

TONES: Final[dict[str, Tone]] = {MET: "good", NOT_MET: "bad", OPEN: "open", ON_AVERAGE: "open"}
SAID: Final = {
    MET: "holds",
    NOT_MET: "does not hold",
    OPEN: "too close to tell",
    ON_AVERAGE: "holds, not in each run",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstScreen:
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


def first_screen(
    folder: ResultFolder, plan: str, budget: Budget, *, named: bool, others: Sequence[ResultFolder] = ()
) -> FirstScreen:
    """Put together the first screen for ``plan``.

    Parameters
    ----------
    folder : ResultFolder
    plan : str
    budget : Budget
        That of ``plan``.
    named : bool
        Whether the user has named the plan; otherwise the page says why it was chosen.
    others : sequence of ResultFolder
        Studies that may know more of the plan.
    """
    settings = folder.settings_of(plan)
    proof = proof_of([folder, *others], plan)
    # What the search saw on fresh runs is more than this page's own runs, and had no part in any choice.
    source, name = (folder, plan) if proof is None else (proof.folder, CHOSEN)
    found = verdicts(source, name)
    proven = proof is not None and set(found.values()) == {MET}
    return FirstScreen(
        tone="good" if proven else TONES[verdict_of_all(folder, plan)],
        headline=_headline(source, name, found, settings, proof),
        explained=_explained(folder, plan, named=named),
        metals=_metals(source, name, found, settings, fresh=proof is not None),
        facts=facts_of(folder, plan, budget, others),
    )


def _headline(folder: ResultFolder, plan: str, found: dict[str, str], settings: Settings, proof: Proof | None) -> str:
    failing = [name for name, said in found.items() if said == NOT_MET]
    if failing:
        parts = []
        for name in failing:
            metal = settings.metals[name]
            held = folder.summary[plan][f"held_pct.{name}"].estimate.mean
            limit = f"{figures(metal.ceiling_rh_pct, 3)}{NBSP}%RH"
            share = f"{share_said(held)} of object-days"
            parts.append(f"{metal.label} is under {limit} on {share}, not {figures(metal.standard_pct, 4)}{NBSP}%")
        return f"The plan does not hold: {'; '.join(parts)}."
    unsure = [settings.metals[name].label for name, said in found.items() if said == OPEN]
    if unsure:
        return f"Too close to tell: more simulated years must show whether {listed(unsure)} keeps its standard."
    which = "the one metal class keeps" if len(found) == 1 else "every metal class keeps"
    met = folder.summary[plan]["years_met"].estimate.mean
    if proof is not None:
        times = f"{proof.good} of {proof.runs} simulated {runs_said(proof.years, proof.runs)}"
        each = "" if proof.years == 1 else "each year of "
        return f"The plan holds: {which} its standard in {each}{times}."
    if met < 1.0:
        missed = folder.replications - round(met * folder.replications)
        return (
            f"The plan holds on average: {which} its standard, but in {missed} of {folder.replications} simulated "
            "years one did not."
        )
    return f"The plan holds: {which} its standard, in every simulated year."


def _explained(folder: ResultFolder, plan: str, *, named: bool) -> str:
    text = f"Plan “{plan}”: {folder.label_of(plan).removeprefix(f'{plan}: ')}."
    if plan in (FOUND, CHOSEN):
        text += " It is the cheapest that a search has proven to hold." if plan == FOUND else ""
    elif len(folder.plans) > 1 and not named:
        cost = {name: folder.summary[name]["annual_equivalent_cost"].estimate.mean for name in folder.plans}
        holding = [name for name in folder.plans if verdict_of_all(folder, name) == MET]
        if plan in holding and cost[plan] == min(cost[name] for name in holding):
            text += f" The cheapest of {len(folder.plans)} plans simulated that holds in every simulated year."
        elif not holding:
            text += f" None of {len(folder.plans)} plans simulated is sure to hold; this is the scenario's own choice."
    return text


def _metals(folder: ResultFolder, plan: str, found: dict[str, str], settings: Settings, *, fresh: bool) -> Table:
    rows = []
    for name, said in found.items():
        metal, estimate = settings.metals[name], folder.summary[plan][f"held_pct.{name}"].estimate
        rows.append(
            [
                Cell(begun(metal.label)),
                Cell(f"{figures(metal.ceiling_rh_pct, 3)}{NBSP}%RH", f"{metal.ceiling_rh_pct:g}"),
                Cell(f"{figures(metal.standard_pct, 4)}{NBSP}%", f"{metal.standard_pct:g}"),
                Cell(share_said(estimate.mean), f"{estimate.mean:.10g}"),
                Cell(SAID[said], tone=TONES[said]),
            ]
        )
    return Table(
        name="metals",
        caption="Does it hold? Share of object-days under the ceiling"
        + (f", mean of {folder.replications} fresh runs" if fresh else ""),
        columns=[
            Column("Metal", numeric=False),
            Column("Ceiling"),
            Column("Standard"),
            Column("Held"),
            Column("So", numeric=False),
        ],
        rows=rows,
    )
