"""How the search splits its error, and the exact chance that a plan at the target is thrown out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom

from simstore.statistics.search_rule import Candidate, SearchRule, least_difference, lower_limit, upper_limit


def test_looks_double_up_to_the_cap():
    assert SearchRule(target=0.9, first_look=4, cap=40).looks == (4, 8, 16, 32, 40)


@pytest.mark.parametrize("cap", [4, 40, 512, 5000])
def test_the_error_spent_at_all_looks_and_proofs_adds_up_to_no_more_than_the_total(cap):
    rule = SearchRule(target=0.5, cap=cap, error=0.05)
    failing = sum(rule.failing_error(years) for years in rule.looks)
    cost = sum(rule.cost_error(years) for years in rule.looks)
    proofs = sum(rule.proof_error(attempt) for attempt in range(100))

    assert failing == pytest.approx(0.05 * 0.3)
    assert cost == pytest.approx(0.05 * 0.2)
    assert proofs == pytest.approx(0.05 * 0.5)


@pytest.mark.parametrize(("target", "cap"), [(0.9, 64), (0.9, 512), (0.95, 512), (0.5, 128)])
def test_a_plan_exactly_at_the_target_is_thrown_out_with_no_more_than_its_error_by_exact_recursion(target, cap):
    rule = SearchRule(target=target, cap=cap)
    thrown_out, chance, before = 0.0, np.array([1.0]), 0
    for years in rule.looks:
        chance = np.convolve(chance, binom.pmf(np.arange(years - before + 1), years - before, target))
        fails = [upper_limit(met, years, rule.failing_error(years)) < target for met in range(years + 1)]
        thrown_out += chance[fails].sum()
        chance[fails] = 0.0
        before = years

    assert 0.0 < thrown_out <= rule.error * rule.failing_part


def test_a_hopeless_plan_is_thrown_out_at_the_first_look():
    plan = Candidate(100.0)
    plan.see([100.0] * 4, [False] * 4, SearchRule(target=0.9))

    assert (plan.standing, plan.years, plan.met) == ("fails", 4, 0)


def test_a_clear_record_makes_a_plan_promising_and_a_mixed_one_ends_at_the_cap():
    rule = SearchRule(target=0.9, cap=64)
    clear, mixed = Candidate(1.0), Candidate(1.0)
    while clear.standing == "open":
        new = clear.next_look(rule) - clear.years
        clear.see([1.0] * new, [True] * new, rule)
    while mixed.standing == "open":
        years = range(mixed.years, mixed.next_look(rule))
        mixed.see([1.0] * len(years), [y % 10 != 7 for y in years], rule)

    # 0.9 ** 22 = 0.098 is the first power below the nominating error 0.1, so the look at 32 years is the first to do
    assert (clear.standing, clear.years) == ("promising", 32)
    assert (mixed.standing, mixed.years, mixed.next_look(rule)) == ("capped", 64, 64)


def test_limits_without_data_say_nothing():
    assert (lower_limit(0, 0, 0.05), upper_limit(0, 0, 0.05)) == (0.0, 1.0)
    assert least_difference(Candidate(1.0), Candidate(2.0), 0.05) == -math.inf


def test_mean_cost_is_the_expected_one_until_something_was_simulated():
    plan = Candidate(7.0)

    assert plan.cost == 7.0
    plan.see([1.0, 2.0, 3.0, 6.0], [True] * 4, SearchRule(target=0.9))
    assert plan.cost == 3.0


def test_a_rule_that_cannot_mean_anything_is_refused_with_every_fault():
    with pytest.raises(ValueError, match=r"target must lie.*leave nothing for the cost.*window"):
        SearchRule(target=1.0, holding_part=0.7, failing_part=0.3, window=0)
    with pytest.raises(ValueError, match=r"error must lie.*first_look <= cap"):
        SearchRule(target=0.9, error=0.0, first_look=1)


# 22 = ceil(ln 0.1 / ln 0.9) and 39 = ceil(ln(0.05 / 2 * 2 / 3) / ln 0.9), by hand.
def test_caps_too_small_for_any_proof_are_refused_with_the_number_needed():
    with pytest.raises(ValueError, match=r"cap is 16, but 22 years without a miss are needed above 0\.9"):
        SearchRule(target=0.9, cap=16)
    with pytest.raises(ValueError, match="proof_cap is 38, but 39 years"):
        SearchRule(target=0.9, proof_cap=38)
