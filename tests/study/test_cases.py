"""Many variants under the same luck: order, luck, precision, and runs that are kept."""

import json
import math

import pytest

from simstore.errors import SimstoreError
from simstore.lab.cases import (
    MOST_REPLICATIONS,
    Case,
    Precision,
    half_widths_of,
    metric_names,
    metrics_kept,
    precision_of,
    run_cases,
    run_to_precision,
    series,
    spread_of,
    spread_of_metric,
)
from simstore.lab.runs_table import long_rows
from simstore.results.metrics import MetricValue


def first_number(record):
    """Something small to keep."""
    return record.replication, record.scenario.settings.ovens["small"].count


@pytest.fixture(scope="module")
def cases(tiny):
    return [
        Case(name="z", scenario=tiny, plan="quarterly"),
        Case(name="a", scenario=tiny.with_changes({"ovens.small.count": 3}), plan="quarterly"),
    ]


def test_results_stand_in_the_order_given_by_case_then_by_replication(cases):
    found = run_cases(cases, first_number, 2)

    assert list(found) == ["z", "a"]
    assert found == {"z": [(0, 1), (1, 1)], "a": [(0, 3), (1, 3)]}


def test_later_replications_have_the_luck_of_a_longer_run(cases):
    whole = run_cases(cases, metrics_kept, 3)
    later = run_cases(cases, metrics_kept, 1, first=2)

    assert later["z"][0] == whole["z"][2]


def test_cases_of_one_name_are_refused(cases):
    with pytest.raises(ValueError, match="distinct names"):
        run_cases([cases[0], cases[0]], metrics_kept, 1)


def test_what_has_no_codec_cannot_be_kept_in_a_folder(cases, tmp_path):
    with pytest.raises(ValueError, match="needs a codec"):
        run_cases(cases, first_number, 1, keep=tmp_path)


def test_runs_that_were_kept_are_not_simulated_again_and_are_the_same(cases, tmp_path, monkeypatch):
    first = run_cases(cases, metrics_kept, 2, keep=tmp_path / "kept")
    assert len(list((tmp_path / "kept").iterdir())) == 4
    monkeypatch.setattr("simstore.sim.run.simulate", lambda *args: pytest.fail("simulated again"))

    again = run_cases(cases, metrics_kept, 2, keep=tmp_path / "kept")

    assert repr(again) == repr(first)


def test_a_broken_file_is_run_again_and_a_changed_scenario_is_another_run(cases, tmp_path):
    one = [cases[0]]
    first = run_cases(one, metrics_kept, 1, keep=tmp_path)
    (path,) = tmp_path.iterdir()
    path.write_text("half a fi")

    assert repr(run_cases(one, metrics_kept, 1, keep=tmp_path)) == repr(first)
    assert json.loads(path.read_text())

    other = [Case(name="z", scenario=cases[0].scenario.with_changes({"seed": 99}), plan="quarterly")]
    run_cases(other, metrics_kept, 1, keep=tmp_path)
    assert len(list(tmp_path.iterdir())) == 2


def test_more_runs_follow_from_the_wanted_half_width(cases):
    asked = Precision(replications=3, half_widths={"energy_kwh": 1.0})

    # t(0.975, n - 1) / sqrt(n) for a standard deviation of 2 and a half-width of 1 is first reached at n = 18:
    # 2.110 x 2 / sqrt(18) = 0.995 and 2.120 x 2 / sqrt(17) = 1.028 (t quantiles as printed in statistical tables)
    found = run_to_precision(cases[:1], first_number, asked, lambda kept, metric: 2.0)

    assert [number for number, _ in found["z"]] == list(range(18))


def test_a_half_width_out_of_reach_is_not_pursued_for_ever(cases, monkeypatch):
    monkeypatch.setattr("simstore.lab.cases.MOST_REPLICATIONS", 5)
    asked = Precision(replications=2, half_widths={"energy_kwh": 1e-9})

    found = run_to_precision(cases[:1], first_number, asked, lambda kept, metric: 1.0)

    assert len(found["z"]) == 5
    assert MOST_REPLICATIONS == 2000


def test_what_never_varies_needs_no_more_runs(cases):
    asked = Precision(replications=2, half_widths={"energy_kwh": 1e-9})

    assert len(run_to_precision(cases[:1], first_number, asked, lambda kept, metric: 0.0)["z"]) == 2


def test_half_widths_are_read_and_every_fault_is_named(tiny):
    assert half_widths_of(["held_pct.iron=0.1"], ["held_pct.iron"]) == {"held_pct.iron": 0.1}
    assert precision_of(tiny, 4, ["staff_h=2", "exchanges.copper=1"]).half_widths == {
        "staff_h": 2,
        "exchanges.copper": 1,
    }
    with pytest.raises(SimstoreError, match=r"did you mean 'held_pct.iron'(.|\n)*above 0(.|\n)*above 0"):
        precision_of(tiny, 4, ["held_pct.irn=1", "staff_h=-1", "staff_h=x"])


def test_metrics_are_looked_up_over_replications():
    kept = [(MetricValue("b", "u", 1.0),), (MetricValue("b", "u", 2.0), MetricValue("c", "v", 3.0))]

    assert series(kept, "b") == [1.0, 2.0]
    assert math.isnan(series(kept, "c")[0])
    assert spread_of([1.0, math.nan, 3.0]) == pytest.approx(math.sqrt(2.0))
    assert spread_of([1.0, math.nan]) == 0.0
    assert spread_of_metric({"x": kept, "y": kept[:1]}, "b") == pytest.approx(math.sqrt(0.5))
    assert long_rows({"x": kept})[1] == ("x", 1, "b", "u", 2.0)


def test_metrics_of_all_runs_stand_in_the_order_of_the_manual():
    kept = [(MetricValue("loads", "1/a", 1.0),), (MetricValue("years_met", "1", 1.0), MetricValue("loads", "1/a", 1.0))]

    assert metric_names(kept) == {"years_met": "1", "loads": "1/a"}
