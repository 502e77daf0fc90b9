"""The exchange rules by themselves, and that both models of the year take the same dates from them."""

from pathlib import Path

import numpy as np
import pytest

from simstore.exchange_rules import RULES, Calendar, Gel, Rule

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
DAY, WEEK = 1440, 7 * 1440


def gel(**known):
    usual = {"now_min": 10 * DAY, "cadence_min": 4 * WEEK, "packets": 1, "age_min": 0.0, "weighed": True, "water": 0.02}
    return Gel(**{**usual, "spent_min": lambda from_min, water: from_min + 1000.0 * (0.1 - water), **known})


@pytest.mark.parametrize(
    ("age_min", "due_min"),
    [
        (0.0, 10 * DAY + 4 * WEEK),  # fresh: a whole cadence from now
        (3 * WEEK, 10 * DAY + WEEK),  # three weeks of four have passed
        (9 * WEEK, 10 * DAY),  # overdue: at once, not in the past
        (np.nan, 10 * DAY),  # nobody knows: at once
    ],
)
def test_the_calendar_counts_a_cadence_from_the_drying(age_min, due_min):
    assert RULES["calendar"].due_min(gel(age_min=age_min)) == due_min


@pytest.mark.parametrize(
    ("weighed", "age_min", "due_min"),
    [
        (True, np.nan, 10 * DAY + 80.0),  # its water is known now
        (False, 5.0 * DAY, 5 * DAY + 80.0),  # its water is known for when it was dried
        (False, np.nan, 10 * DAY),  # nothing is known: at once
    ],
)
def test_the_forecast_counts_from_when_the_water_was_known(weighed, age_min, due_min):
    assert RULES["forecast"].due_min(gel(weighed=weighed, age_min=age_min)) == pytest.approx(due_min)


def test_by_reading_nothing_falls_due_by_itself():
    assert RULES["reading"].due_min(gel()) == np.inf


@pytest.mark.parametrize("name", RULES)
def test_a_rule_says_of_many_enclosures_what_it_says_of_each(name):
    ages, weighed, water = (
        np.array([0.0, 3.0 * WEEK, np.nan]),
        np.array([True, False, False]),
        np.array([0.02, 0.03, 0.04]),
    )
    together = RULES[name].due_min(gel(age_min=ages, weighed=weighed, water=water))
    alone = [
        float(RULES[name].due_min(gel(age_min=float(a), weighed=bool(w), water=float(q))))
        for a, w, q in zip(ages, weighed, water, strict=True)
    ]

    assert together.tolist() == alone


def test_a_second_rule_of_one_name_is_refused():
    with pytest.raises(TypeError, match="there is a rule 'calendar' already; give Copy a name of its own"):

        class Copy(Calendar):
            pass

    assert type(RULES["calendar"]) is Calendar
    assert all(isinstance(rule, Rule) for rule in RULES.values())
