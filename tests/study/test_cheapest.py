"""Which compared plan is the cheapest: told apart by what matters, among those that miss no standard."""

from dataclasses import replace

import numpy as np
import pytest

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.precision import Precision
from simstore.prose.answers.compare import cheapest_said, compare_blocks
from simstore.prose.terminal import text_of
from simstore.results.metrics import MetricValue
from simstore.results.objective import SIMULATED_COST as COST
from simstore.results.series import series
from simstore.results.summary import summarise
from simstore.study.compare.cheapest import FIRST, cheapest_of
from simstore.study.compare.comparison import compare

PLANS = ["quarterly", "forecast", "two_ovens"]


@pytest.fixture(scope="module")
def compared(tiny):
    return compare(Bench(tiny), PLANS, Precision(replications=4, half_widths={}))


def costs(comparison):
    return {plan: np.mean(series(rows, COST)) for plan, rows in comparison.runs.items()}


def test_plans_that_differ_by_far_more_than_matters_are_told_apart_in_the_first_stage(compared):
    found = cheapest_of(Bench(compared.scenario), compared, 5.0)
    known = costs(compared)

    assert found.best == min(known, key=known.get)
    assert found.left == ()
    assert found.selection.replications.tolist() == [FIRST] * len(PLANS)
    assert f"is '{found.best}', sure to 95 %" in cheapest_said(found, "EUR")


def test_runs_beyond_those_of_the_comparison_have_the_luck_of_a_longer_one(compared, tiny):
    found = cheapest_of(Bench(compared.scenario), compared, 5.0)
    longer = compare(
        Bench(tiny), PLANS, Precision(replications=int(found.selection.replications.max()), half_widths={})
    )

    for place, plan in enumerate(found.plans):
        own = series(longer.runs[plan], COST)[: found.selection.replications[place]]
        assert found.selection.means[place] == pytest.approx(np.mean(own), rel=1e-12)


def test_what_cannot_be_settled_is_left_open_and_said(compared):
    rows = [
        tuple(r._replace(value=r.value + 0.01 * (-1) ** n) if r.metric == COST else r for r in run)
        for n, run in enumerate(compared.runs["quarterly"] * 3)
    ]
    base = compared.runs["quarterly"] * 3
    twins = replace(
        compared,
        plans=("quarterly", "same"),
        runs={"quarterly": base, "same": rows},
        summary=summarise([(name, each) for name, kept in (("quarterly", base), ("same", rows)) for each in kept]),
    )
    undecided = cheapest_of(Bench(twins.scenario), twins, 1e-4, most=10)

    assert len(undecided.left) == 1
    assert "was not settled in 10 runs" in cheapest_said(undecided, "EUR")
    assert "may be cheaper by 0.00 EUR" in cheapest_said(undecided, "EUR")


def failing(comparison, plan):
    """The comparison with a plan that holds iron on no day."""
    runs = {
        name: [
            tuple(
                MetricValue(r.metric, r.unit, 0.0) if name == plan and r.metric == "held_pct.iron" else r for r in run
            )
            for run in kept
        ]
        for name, kept in comparison.runs.items()
    }
    return replace(comparison, runs=runs, summary=summarise([(name, run) for name in runs for run in runs[name]]))


def test_a_plan_that_misses_a_standard_takes_no_part(compared):
    found = cheapest_of(Bench(compared.scenario), failing(compared, "forecast"), 5.0)

    assert "forecast" not in found.plans
    one = cheapest_of(Bench(compared.scenario), failing(failing(compared, "forecast"), "quarterly"), 5.0)
    assert one.best == one.plans[0]
    assert "the only one" in cheapest_said(one, "EUR")
    none = cheapest_of(
        Bench(compared.scenario), failing(failing(failing(compared, "forecast"), "quarterly"), "two_ovens"), 5.0
    )
    assert none.best is None
    assert "No plan of these keeps every standard" in text_of(compare_blocks(compared, none)).replace("\n", " ")


def test_nothing_is_not_an_amount(compared):
    with pytest.raises(SimstoreError, match="must be above 0, got 0"):
        cheapest_of(Bench(compared.scenario), compared, 0.0)
