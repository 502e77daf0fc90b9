"""The sentence beside the chart of weeks: which enclosures are over most often, and how long the worst is when it is."""

import pandas as pd
import pytest

from simstore.prose.sections.year import often_over_said


def over(*rows):
    """Enclosures with the share of runs in which they were over, and their hours in such a run; most hours first."""
    table = pd.DataFrame(rows, columns=["enclosure", "ever", "hours_when_over"])
    hours = table["ever"] * table["hours_when_over"]
    return table.assign(hours_over=hours).sort_values("hours_over", ascending=False, kind="stable")


def plain(text):
    return text.replace("\u00a0", " ")


def test_only_enclosures_over_in_more_than_half_of_the_runs_are_named():
    said = plain(often_over_said(over(("A", 0.6, 200.0), ("B", 0.5, 100.0), ("C", 0.8, 20.0)), replications=10))

    assert said.startswith("Over the ceiling in more than half of the 10 runs: A and C.")


def test_the_hours_of_the_worst_are_those_of_the_runs_in_which_it_was_over():
    # 200 hours in 6 of 10 runs; over all runs the mean would be 120
    said = plain(often_over_said(over(("A", 0.6, 200.0), ("C", 0.8, 20.0)), replications=10))

    assert said.endswith("The worst is A, over in 6 of 10 runs: 200 hours in each of these, on the mean.")


def test_hours_of_a_single_run_are_no_mean():
    said = plain(often_over_said(over(("A", 0.1, 30.0)), replications=10))

    assert said.endswith("over in 1 of 10 runs: 30 hours in that run.")


def test_at_most_five_are_named_and_the_others_counted():
    said = plain(often_over_said(over(*((f"E{n}", 1.0, 90.0 - n) for n in range(8))), replications=4))

    assert "runs: E0, E1, E2, E3, E4 and 3 more." in said


@pytest.mark.parametrize(
    ("rows", "replications", "said"),
    [
        ([("A", 0.1, 30.0)], 9, "No enclosure was over in more than half of the 9 runs. The worst is A, over in 1 of 9"),
        ([("A", 1.0, 1.0)], 1, "Over the ceiling in the one run: A. Longest: A, for 1 hour."),
        ([], 10, ""),
    ],
)  # fmt: skip
def test_rare_single_and_absent_cases_are_said_as_such(rows, replications, said):
    assert plain(often_over_said(over(*rows), replications=replications)).partition(" runs: ")[0] == said
