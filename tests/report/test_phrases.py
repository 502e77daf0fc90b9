"""Numbers and months as they stand in titles."""

import pytest

from simstore.prose.phrases import (
    begun,
    counted,
    figures,
    listed,
    months_said,
    number,
    percent,
    source_line,
    with_unit,
)

MINUS = "\u2212"


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("value", "said"),
    [(0, "0"), (1234567, "1 234 567"), (-5200, f"{MINUS}5 200"), (0.4, "0"), (-0.4, "0")],
)
def test_whole_numbers_have_spaces_between_thousands_and_no_negative_nought(value, said):
    assert plain(number(value)) == said


@pytest.mark.parametrize(
    ("value", "said"), [(0, "0"), (0.3333, "0.33"), (12.34, "12"), (1.0, "1"), (0.904, "0.9"), (8123, "8 123")]
)
def test_two_figures_are_kept_and_end_zeros_dropped(value, said):
    assert plain(figures(value)) == said


def test_what_is_not_finite_is_called_unknown():
    assert figures(float("nan")) == "unknown"


@pytest.mark.parametrize(
    ("share", "beside", "said"),
    [
        (6.04, None, "6 %"),
        (6.25, None, "6.2 %"),
        (11.4, None, "11 %"),
        (0.0, None, "0 %"),
        (100.0, None, "100 %"),
        (0.004, None, "0.004 %"),
        (99.96, None, "99.96 %"),
        (99.6, None, "99.6 %"),
        (1.04, 1.0, "1.04 %"),
        (98.99, 99.0, "98.99 %"),
        (1.0, 1.0, "1 %"),
    ],
)
def test_a_share_is_as_exact_as_it_needs_to_differ_from_nought_the_whole_and_the_standard(share, beside, said):
    assert plain(percent(share, beside=beside)) == said


@pytest.mark.parametrize(
    ("months", "first", "said"),
    [
        ([7], None, "in July"),
        ([7, 8, 9, 10], None, "from July to October"),
        ([11, 12, 1, 2], None, "from November to February"),
        ([11, 12, 1, 2], 1, "from January to February and from November to December"),
        ([11, 12, 1, 2], 7, "from November to February"),
        ([1, 3], None, "in January and in March"),
        ([1, 3, 5, 6], None, "in 4 of 12 months"),
        (list(range(1, 13)), None, "all year"),
        (list(range(1, 13)), 4, "all year"),
    ],
)
def test_months_are_said_as_spells_that_do_not_jump_back_over_the_beginning_of_a_single_year(months, first, said):
    assert months_said(months, first=first) == said


def test_small_words():
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert begun("iron, marine") == "Iron, marine"
    assert plain(counted(1, "box", "boxes")) == "1 box"
    assert plain(counted(3, "box", "boxes")) == "3 boxes"
    assert plain(with_unit("3", "h")) == "3 h"
    assert with_unit("3", "") == "3"


def test_the_source_line_carries_the_scenarios_note_on_its_data():
    line = source_line("river store", "Invented demonstration data", replications=20)

    assert line == "River store. Mean of 20 simulated runs. Invented demonstration data."
    assert source_line("Store", "", replications=1) == "Store. One simulated run."
