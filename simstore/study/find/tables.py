"""The tables and the document of a search."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from simstore.plans.candidates import Candidate
from simstore.plans.found import CHOSEN
from simstore.results.summary import SHARES, Measured, Summary
from simstore.statistics.estimate import mean_interval as estimate_of
from simstore.statistics.estimate import share_interval
from simstore.statistics.intervals import MeanInterval
from simstore.study.find.search import Found
from simstore.study.find.shortage import use_of
from simstore.units import DAYS_PER_YEAR

if TYPE_CHECKING:
    import pandas as pd

SHORT_ABOVE_PCT = 20.0
"""A means that is used less than this is not said to bind."""


def tables_of(found: Found) -> dict[str, pd.DataFrame]:
    """Lay out what was tried (``find_candidates``), the marginal table and the trade-off (``pareto``)."""
    import pandas as pd

    columns = ["step", "resource", "metric", "mean", "low", "high", "replications"]
    return {
        "find_candidates": pd.DataFrame(_candidate_rows(found)),
        "marginal": pd.DataFrame(_marginal_rows(found), columns=columns),
        "pareto": pd.DataFrame(
            [
                {
                    "plan": point.plan.name,
                    "on_front": "yes" if point.on_front else "no",
                    "chosen": "yes" if point.plan == found.chosen else "no",
                    "replications": point.replications,
                    "good_years": point.good_years,
                    "cost_per_year": point.cost,
                    "margin_pct": point.margin_pct,
                }
                for point in found.trade_off
            ]
        ),
    }  # fmt: skip


def _candidate_rows(found: Found) -> list[dict[str, Any]]:
    rows = []
    for plan, seen in found.finding.evidence.items():
        proof, cost = seen.proof, seen.cost
        rows.append(
            {
                "plan": plan.name,
                "base": plan.base,
                "verdict": seen.verdict,
                "reason": seen.reason,
                "expected_cost_per_year": seen.believed_cost,
                "expected_share": seen.believed_share,
                "replications": seen.replications,
                "good_years": seen.met,
                "share_low": seen.share_low,
                "share_high": seen.share_high,
                "cost_per_year": math.nan if cost is None else cost.mean,
                "cost_low": math.nan if cost is None else cost.low,
                "cost_high": math.nan if cost is None else cost.high,
                "fresh_years": 0 if proof is None else proof.replications,
                "fresh_good_years": 0 if proof is None else proof.met,
                "fresh_share_low": 0.0 if proof is None else proof.share_low,
            }
        )
    return rows


def _marginal_rows(found: Found) -> list[tuple[str, str, str, float, float, float, int]]:
    return [
        (row.step.what, row.step.resource, metric, each.mean, each.low, each.high, each.replications)
        for row in found.marginal
        for metric, each in row.differences.items()
    ]


def summary_of_choice(found: Found) -> tuple[Summary, int]:
    """Metrics of the chosen plan on fresh years, or of the nearest plan where nothing holds, and the replications."""
    if found.chosen is not None:
        plan, numbers, name = found.chosen, found.fresh, CHOSEN
    else:
        assert found.shortage is not None
        plan, name = found.shortage.nearest, "nearest"
        numbers = range(found.samples.replications_of(plan))
    units = {row.metric: row.unit for row in found.samples.known_rows(plan, numbers[0])}
    metrics: dict[str, Measured] = {}
    for metric, unit in units.items():
        series = found.samples.values(plan, metric, numbers)
        estimate = share_interval(round(sum(series)), len(series)) if metric in SHARES else estimate_of(series)
        metrics[metric] = Measured(unit, estimate)
    return {name: metrics}, len(numbers)


def scarcest_metal(found: Found) -> str:
    """Name the metal whose held share is nearest to its standard under the plan of the answer."""
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    metals = found.scenario.settings.metals
    present = [name for name in metals if f"held_pct.{name}" in metrics]
    return min(present, key=lambda n: metrics[f"held_pct.{n}"].estimate.mean - metals[n].standard_pct)


def document_of(found: Found) -> dict[str, Any]:
    """Lay out what ``find.json`` holds."""
    finding, options = found.finding, found.options
    return {
        "asked": {
            "share_of_years": options.target,
            "confidence": options.confidence,
            "standards_pct": {n: metal.standard_pct for n, metal in found.scenario.settings.metals.items()},
            "good_share_of_years": options.asked(found.horizon_years).good,
            "years_of_a_run": found.horizon_years,
            "horizon_years": found.horizon_years,
        },
        "plans": {
            "in_space": len(finding.evidence),
            **found.counts(),
        },
        "simulated_years": {
            "search_and_proof": finding.spent * found.horizon_years,
            "in_all": len(found.samples.known) * found.horizon_years,
        },
        "first_unused_replication": found.samples.first_unused,
        "could_be_cheaper_by_pct": _figure(100.0 * finding.could_save),
        "chosen": None if found.chosen is None else _plan(found, found.chosen),
        "next_cheaper": _plan_or_none(found, next_cheaper(found)),
        "runner_up": _plan_or_none(found, finding.runner_up),
        "not_told_apart": [_plan(found, plan) for plan in finding.alike],
        "undecided_and_perhaps_cheaper": [_plan(found, plan) for plan in finding.undecided_cheaper],
        "use_of_means": {} if found.chosen is None else _rounded(use_of(found.samples, found.chosen, found.fresh)),
        "binding": binding_of(found),
        "marginal": [
            {
                "step": row.step.what,
                "resource": row.step.resource,
                "changes": dict(row.step.changes),
                "if_hours_are_paid_anyway": round(row.step.idle_hours_cost, 2),
                "problem": row.problem,
                "differences": {metric: _interval(each) for metric, each in row.differences.items()},
            }
            for row in found.marginal
        ],
        "if_nothing_holds": _shortage(found),
    }


def next_cheaper(found: Found) -> Candidate | None:
    """Return the dearest plan that was simulated and is cheaper than the chosen one; None if there is none."""
    if found.chosen is None:
        return None
    evidence = found.finding.evidence
    limit = evidence[found.chosen].cost
    cheaper = [
        plan
        for plan, seen in evidence.items()
        if limit is not None and seen.cost is not None and seen.cost.mean < limit.mean
    ]
    return cheaper[-1] if cheaper else None


def binding_of(found: Found) -> str:
    """Say which means is nearest to its limit under the chosen plan, in words; empty without a plan."""
    if found.chosen is None:
        return ""
    use = use_of(found.samples, found.chosen, found.fresh)
    without = max((days for name, days in use.items() if name.startswith("ready:")), default=0.0)
    return binding_said(use.get("oven", 0.0), use.get("hours", 0.0), without)


def binding_said(oven_pct: float, hours_pct: float, without_days: float) -> str:
    """Say which means is nearest to its limit.

    Parameters
    ----------
    oven_pct, hours_pct : float
        Share of the time in which ovens are in use, and share of the working hours that is worked. [%]
    without_days : float
        Days of a run that end without a ready packet of some sort, mean of the runs.
    """
    days = round(without_days)
    on_days = f"on {f'{days} day' if days == 1 else f'{days} days' if days else 'less than one day'} of a run"
    each = {
        "ovens": (oven_pct, f"in use {oven_pct:.0f} % of the time"),
        "working hours": (hours_pct, f"{hours_pct:.0f} % of them used"),
        "ready packets": (100.0 * without_days / DAYS_PER_YEAR, f"none left {on_days}"),
    }
    name, (share, said) = max(each.items(), key=lambda entry: entry[1][0])
    if share >= SHORT_ABOVE_PCT:
        also = f"; ready packets ran out {on_days}" if without_days > 0.0 and name != "ready packets" else ""
        return f"Nearest to its limit: {name}, {said}{also}"
    rest = "; ".join(f"{name}: {said}" for name, (_, said) in each.items() if name != "ready packets")
    if without_days > 0.0:
        return f"Ready packets ran out {on_days}; no other means is near its limit ({rest})"
    return (
        f"No means is near its limit ({rest}; ready packets never ran out): what is looked at, changed and housed "
        "decides"
    )


def _plan_or_none(found: Found, plan: Candidate | None) -> dict[str, Any] | None:
    return None if plan is None else _plan(found, plan)


def _plan(found: Found, plan: Candidate) -> dict[str, Any]:
    seen = found.finding.evidence[plan]
    proof = seen.proof
    return {
        "name": plan.name,
        "base": plan.base,
        "changes": dict(plan.changes),
        "verdict": seen.verdict,
        "reason": seen.reason,
        "search": {"replications": seen.replications, "good_years": seen.met, "cost": _interval(seen.cost)},
        "fresh": None
        if proof is None
        else {
            "replications": proof.replications,
            "good_years": proof.met,
            "share_low": _figure(proof.share_low),
            "confidence_of_share_low": _figure(proof.confidence),
            "cost": _interval(proof.cost),
        },
    }


def _shortage(found: Found) -> dict[str, Any] | None:
    short = found.shortage
    if short is None:
        return None
    return {
        "nearest": short.nearest.name,
        "missing_pct": _rounded(short.missing_pct),
        "short": short.short,
        "tried": [{"resource": each.resource, "what": each.what} for each in short.tried],
        "least_change": None if short.least is None else short.least.what,
        "plan_with_it": None if short.least is None else short.least.candidate.name,
        "evidence": None if short.evidence is None else short.evidence.reason,
    }


def _interval(interval: MeanInterval | None) -> dict[str, float | int | None] | None:
    if interval is None:
        return None
    return {
        "mean": _figure(interval.mean),
        "low": _figure(interval.low),
        "high": _figure(interval.high),
        "replications": interval.replications,
    }


def _rounded(values: Mapping[str, float]) -> dict[str, float | None]:
    return {name: _figure(value) for name, value in values.items()}


def _figure(value: float) -> float | None:
    return None if math.isnan(value) else float(f"{value:.10g}")
