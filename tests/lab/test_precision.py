"""As many runs as the intervals need, all variants under the same luck."""

import math

import pytest

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench
from simstore.lab.harvest import Harvest, frozen_metrics, thawed_metrics
from simstore.lab.precision import (
    MOST_REPLICATIONS,
    Precision,
    half_widths_of,
    precision_of,
    run_to_precision,
    spread_of,
    spread_of_metric,
)
from simstore.lab.runs_table import long_rows
from simstore.plans.variant import Variant
from simstore.results.metrics import MetricValue
from simstore.results.series import metric_names, series

VARIANTS = {"z": Variant("quarterly"), "a": Variant("quarterly", (("ovens.small.count", 3),))}


def first_number(record):
    """Something small to keep."""
    return record.replication, record.scenario.settings.ovens["small"].count


SMALL = Harvest("small", first_number, repr, repr)


def test_results_stand_in_the_order_given_by_variant_then_by_replication(tiny):
    found = Bench(tiny).run(VARIANTS, SMALL, range(2))

    assert list(found) == ["z", "a"]
    assert found == {"z": [(0, 1), (1, 1)], "a": [(0, 3), (1, 3)]}


def test_more_runs_follow_from_the_wanted_half_width(tiny):
    asked = Precision(replications=3, half_widths={"energy_kwh": 1.0})

    # t(0.975, n - 1) / sqrt(n) for a standard deviation of 2 and a half-width of 1 is first reached at n = 18:
    # 2.110 x 2 / sqrt(18) = 0.995 and 2.120 x 2 / sqrt(17) = 1.028 (t quantiles as printed in statistical tables)
    found = run_to_precision(Bench(tiny), {"z": VARIANTS["z"]}, SMALL, asked, lambda kept, metric: 2.0)

    assert [number for number, _ in found["z"]] == list(range(18))


def test_a_pilot_that_has_been_run_is_not_run_again(tiny):
    total = []
    with Bench(tiny, progress=lambda done, total_: total.append(total_)) as bench:
        known = bench.run({"z": VARIANTS["z"]}, SMALL, range(2))
        asked = Precision(replications=2, half_widths={})
        found = run_to_precision(bench, VARIANTS, SMALL, asked, lambda kept, metric: 0.0, known=known)

    assert found == {"z": [(0, 1), (1, 1)], "a": [(0, 3), (1, 3)]}
    assert set(total) == {2}


def test_a_half_width_out_of_reach_is_not_pursued_for_ever(tiny, monkeypatch):
    monkeypatch.setattr("simstore.lab.precision.MOST_REPLICATIONS", 5)
    asked = Precision(replications=2, half_widths={"energy_kwh": 1e-9})

    found = run_to_precision(Bench(tiny), {"z": VARIANTS["z"]}, SMALL, asked, lambda kept, metric: 1.0)

    assert len(found["z"]) == 5
    assert MOST_REPLICATIONS == 2000


def test_what_never_varies_needs_no_more_runs(tiny):
    asked = Precision(replications=2, half_widths={"energy_kwh": 1e-9})

    assert len(run_to_precision(Bench(tiny), VARIANTS, SMALL, asked, lambda kept, metric: 0.0)["z"]) == 2


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


def test_metrics_come_back_as_they_were_to_the_last_bit():
    kept = (MetricValue("held_pct.iron", "%", 0.1 + 0.2), MetricValue("wait", "d", math.nan))

    again = thawed_metrics(frozen_metrics(kept))

    assert again[0] == kept[0]
    assert math.isnan(again[1].value)
