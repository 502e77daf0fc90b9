"""Readers: how often objects of a class are asked for, whatever else lies in the store."""

import pytest
from features import little_store as shop
from scipy import stats

METALS = {"metals": {"bronze": {"label": "bronze", "ceiling_rh_pct": 40.0}}}


def visits(bronze, iron, days=365):
    """Openings for readers of the bronzes in a year, done or left undone, at 250 a year; one minute each."""
    rows = [shop.row(f"B{n:02d}", metal="bronze") for n in range(bronze)]
    rows += [shop.row(f"I{n:02d}") for n in range(iron)]
    asked = [{"metal": "bronze", "visits_per_year": 250.0, "staff_min": 1.0}]
    record = shop.live(*rows, days=days, visits=asked, **METALS)
    waiting = [each.subject for each in record.undone if each.task == "visit"]
    assert all(name.startswith("B") for name in waiting)
    return shop.task_minutes(record)["visit"] + len(waiting)


# A class is asked for so many times a year, by chance: 99.9 % of a Poisson count of 250.
@pytest.mark.parametrize(("bronze", "iron"), [(1, 0), (5, 0), (5, 20), (20, 3)])
def test_a_class_is_visited_as_often_as_stated_however_many_enclosures_and_other_classes_there_are(bronze, iron):
    low, high = stats.poisson.interval(0.999, 250)

    assert low <= visits(bronze, iron) <= high


def test_two_rows_for_one_class_add_up():
    asked = [{"metal": "iron", "visits_per_year": rate, "staff_min": 1.0} for rate in (100.0, 150.0)]
    record = shop.live(shop.row("A"), shop.row("B"), days=365, visits=asked)
    low, high = stats.poisson.interval(0.999, 250)

    assert low <= shop.task_minutes(record)["visit"] + len(record.undone) <= high
