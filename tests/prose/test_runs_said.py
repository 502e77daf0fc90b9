"""What is counted is called what it is: years, or runs of several years."""

from __future__ import annotations

import pytest

from simstore.prose.phrases import runs_said


@pytest.mark.parametrize(
    ("years", "count", "said"),
    [(1, 1, "year"), (1, 3, "years"), (5, 1, "run of 5 years"), (5, 3, "runs of 5 years"), (5, 0, "runs of 5 years")],
)
def test_one_run_and_many_runs_of_one_year_and_of_several(years, count, said):
    assert runs_said(years, count) == said
