"""When nothing holds: which means is short, by how much, and the least change that would make a plan hold."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from simstore.errors import SimstoreError
from simstore.plans.candidates import Candidate
from simstore.plans.ladder import LEAST_WEEKS, cadence_ladder, more_hours, packets_for
from simstore.scenario.values.plan import Scalar
from simstore.scenario.values.settings import Settings
from simstore.statistics.search_evidence import Evidence, Finding
from simstore.study.find.samples import NO_READY, Samples

OVENS = (1, 2, 3)
HOURS_A_WEEK = (2.0, 4.0, 8.0)
GEL_KG = (5.0, 10.0, 20.0, 40.0)
STEPS = 2
SHRINK = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxation:
    """One means changed.

    Attributes
    ----------
    resource : str
        "oven", "hours", "gel", "cadence", "trigger" or "gel in each enclosure".
    what : str
        The change in words.
    candidate : Candidate
        The best plan with this change.
    """

    resource: str
    what: str
    candidate: Candidate


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortage:
    """Why no plan holds.

    Attributes
    ----------
    nearest : Candidate
        The plan that comes nearest to holding.
    missing_pct : dict of str to float
        By metal that misses its standard: how much of its object-days are missing, mean over replications. [%]
    short : str
        The means that is short, in one sentence.
    tried : tuple of Relaxation
        Changes that were looked at, single ones first, then two at once.
    least : Relaxation or None
        The cheapest of them that is proven to hold.
    evidence : Evidence or None
        Its evidence.
    finding : Finding or None
        Verdicts on all changes that were simulated.
    """

    nearest: Candidate
    missing_pct: dict[str, float]
    short: str
    tried: tuple[Relaxation, ...]
    least: Relaxation | None
    evidence: Evidence[Candidate] | None
    finding: Finding[Candidate] | None


def shortage_of(
    samples: Samples,
    plans: Sequence[Candidate],
    finding: Finding[Candidate],
    search: Callable[[list[Candidate]], Finding[Candidate]],
) -> Shortage:
    """Say what is short, and search for the least change.

    Parameters
    ----------
    samples : Samples
        Knows the simulated replications of ``plans``.
    plans : sequence of Candidate
        Simulated plans, none of which was proven.
    finding : Finding
        Their evidence.
    search : callable
        Runs the sequential procedure over changed plans.
    """
    standards = {name: metal.standard_pct for name, metal in samples.scenario.settings.metals.items()}

    def nearness(plan: Candidate) -> tuple[float, float, str]:
        seen = finding.evidence[plan]
        met, runs = seen.met, seen.replications
        if seen.proof is not None:
            met, runs = met + seen.proof.met, runs + seen.proof.replications
        # the rule of succession: two good runs of two are less than 113 of 120
        return (-(met + 1.0) / (runs + 2.0), seen.believed_cost, plan.name)

    nearest = min(plans, key=nearness)
    held = _held(samples, nearest, finding.evidence[nearest].replications, standards)
    missing = {m: standards[m] - h for m, h in held.items() if h < standards[m]}
    tried = _relaxations(samples, nearest)
    outcome = search([each.candidate for each in tried]) if tried else None
    if outcome is not None and outcome.chosen is None:
        tried += _two_at_once(samples, nearest, tried)
        outcome = search([each.candidate for each in tried])
    chosen = None if outcome is None else outcome.chosen
    least = next((each for each in tried if each.candidate == chosen), None)
    return Shortage(
        nearest=nearest,
        missing_pct=missing,
        short=_short(samples, nearest, finding.evidence[nearest].replications),
        tried=tuple(tried),
        least=least,
        evidence=None if outcome is None or chosen is None else outcome.evidence[chosen],
        finding=outcome,
    )


def _two_at_once(samples: Samples, plan: Candidate, single: Sequence[Relaxation]) -> list[Relaxation]:
    """Every two changes of different means together, that can run."""
    found = []
    for first, second in itertools.combinations(single, 2):
        if first.resource == second.resource:
            continue
        own = dict(plan.changes)
        changes = {k: v for each in (first, second) for k, v in each.candidate.changes if own.get(k) != v}
        candidate = plan.changed(changes)
        try:
            candidate.scenario_of(samples.scenario)
        except SimstoreError:
            continue
        resource = f"{first.resource} and {second.resource}"
        found.append(Relaxation(resource=resource, what=f"{first.what}, and {second.what}", candidate=candidate))
    return found


def _held(samples: Samples, plan: Candidate, replications: int, standards: dict[str, float]) -> dict[str, float]:
    numbers = range(max(1, replications))
    samples.measure([plan], numbers)
    metals = [metal for metal in standards if f"held_pct.{metal}" in samples.metrics(plan, 0)]
    return {metal: math.fsum(samples.values(plan, f"held_pct.{metal}", numbers)) / len(numbers) for metal in metals}


def _relaxations(samples: Samples, plan: Candidate) -> list[Relaxation]:
    """Single changes of one means each, that can run, from the smallest to the largest."""
    settings = plan.scenario_of(samples.scenario).settings
    found = []
    for resource, what, changes in _steps(settings, plan.base):
        candidate = plan.changed(changes)
        try:
            candidate.scenario_of(samples.scenario)
        except SimstoreError:
            continue
        found.append(Relaxation(resource=resource, what=what, candidate=candidate))
    return found


def _steps(settings: Settings, base: str) -> list[tuple[str, str, dict[str, Scalar]]]:
    steps: list[tuple[str, str, dict[str, Scalar]]] = []
    for name, oven in settings.ovens.items():
        steps += [("oven", f"{n} more oven ({name})", {f"ovens.{name}.count": oven.count + n}) for n in OVENS]
    for hours in HOURS_A_WEEK:
        longer = more_hours(settings, hours)
        if longer is not None:
            steps.append(("hours", f"{hours:g} h a week more", {longer[0]: longer[2]}))
    for name, stock in settings.stock.items():
        for kg in GEL_KG:
            ready = stock.ready + packets_for(settings, name, kg)
            steps.append(("gel", f"{kg:g} kg more gel ready ({name})", {f"stock.{name}.ready": ready}))
    plan = settings.plans[base]
    shorter: dict[str, Scalar] = {}
    for _ in range(STEPS):
        ladder = cadence_ladder(base, plan)
        weeks = {key: float(shorter.get(key, now)) * SHRINK for key, (_, now, _) in ladder.items()}
        shorter = {key: max(LEAST_WEEKS, each) for key, each in weeks.items()}
        said = ", ".join(f"{each:g}" for each in dict.fromkeys(shorter.values()))
        steps.append(("cadence", f"cadence of {said} weeks", dict(shorter)))
    if plan.goes_by("trigger_pct"):
        for n in range(1, STEPS + 1):
            pct = plan.trigger_pct - 15.0 * n
            if pct > 0.0:
                key = f"plans.{base}.trigger_pct"
                steps.append(("trigger", f"change at {pct:g} % of the ceiling", {key: pct}))
    for name, packet in settings.packets.items():
        more = {f"packets.{name}.gel_kg": round(2.0 * packet.gel_kg, 6)}
        steps.append(("gel in each enclosure", f"packets of {more[f'packets.{name}.gel_kg']:g} kg ({name})", more))  # type: ignore[arg-type]
    return steps


def _short(samples: Samples, plan: Candidate, replications: int) -> str:
    """Say which of oven, hours and ready stock is used up, and what the demand would be without limits."""
    use = use_of(samples, plan, range(max(1, replications)))
    words = {
        "oven": f"the ovens are in use {use.get('oven', 0.0):.0f} % of the time",
        "hours": f"{use.get('hours', 0.0):.0f} % of the working hours are used up",
    }
    parts = [words[name] for name in ("oven", "hours") if use.get(name, 0.0) >= 85.0]
    parts += [
        f"no {name.split(':')[1]} packet is ready on {days:.0f} days of the year"
        for name, days in use.items()
        if name.startswith("ready:") and days >= 30.0
    ]
    if parts:
        return "; ".join(parts) + _demand(use)
    return "no means is used up: the plan looks or changes too seldom, or the enclosures leak too much for their gel"


def _demand(use: dict[str, float]) -> str:
    waiting = use.get("overdue", 0.0)
    return f"; {waiting:.0f} jobs are left undone at the end of the run" if waiting >= 1.0 else ""


def use_of(samples: Samples, plan: Candidate, replications: Sequence[int]) -> dict[str, float]:
    """How far each means is used, mean over replications.

    Returns
    -------
    dict of str to float
        ``oven`` and ``hours`` in % of what there is, ``ready:SORT`` in days without a ready packet, ``overdue`` as a
        number of jobs.
    """

    def mean(name: str) -> float:
        values = [v for v in samples.values(plan, name, replications) if not math.isnan(v)]
        return math.fsum(values) / len(values) if values else math.nan

    hours, idle = mean("staff_h"), mean("idle_h")
    use = {"oven": mean("oven_use_pct"), "hours": 100.0 * hours / (hours + idle) if hours + idle > 0.0 else math.nan}
    for name in samples.metrics(plan, replications[0]):
        if name.startswith(f"{NO_READY}."):
            use[f"ready:{name.partition('.')[2]}"] = mean(name)
    use["overdue"] = mean("overdue")
    return {name: value for name, value in use.items() if not math.isnan(value)}
