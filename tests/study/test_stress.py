"""Failures that come when they hurt most, against the undisturbed plan under the same luck."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from handmade import small_record

from simstore.lab.bench import Bench
from simstore.lab.precision import Precision
from simstore.prose.answers.stress import stress_blocks
from simstore.prose.blocks import Chart, Paragraph, Table
from simstore.prose.terminal import text_of
from simstore.study.stress.failures import Stress, stress_run, stresses_of, week_held_pct, wettest_day
from simstore.study.stress.losses import UNDISTURBED, back_week, drawn_metals, stress_test


@pytest.fixture(scope="module")
def leaky(tiny):
    """The tiny store with leakier boxes and a long reach of the calendar, so that failures are felt."""
    return tiny.with_changes({"kinds.clip_box.layers.0.leak_per_day.median": 6.0, "stock.small.ready": 2})


@pytest.fixture(scope="module")
def tested(leaky):
    return stress_test(Bench(leaky), "by_metal", Precision(replications=3, half_widths={}))


@pytest.mark.parametrize(
    ("lost", "start", "week"),
    [
        ([0, 0, 0, 0], 1, 1),
        ([0, 3, 2, 0.4, 0], 1, 3),
        ([0, 3, 0, 2, 0], 1, 4),
        ([0, 3, 2, 1], 1, None),
        ([5, 0, 0, 0, 0], 3, 3),
        ([0, -2, 0], 0, 2),
    ],
)
def test_recovery_is_the_first_week_from_which_the_loss_stays_small(lost, start, week):
    assert back_week(np.array(lost, dtype=float), start) == week


def test_the_weekly_share_counts_object_days_under_the_ceiling():
    record = small_record()
    year = record.enclosures
    iron = [place for place, metal in enumerate(year.metal) if metal == "iron"]
    rh = np.full((len(year.metal), 16), 10.0, dtype=np.float32)
    rh[iron[0], :3] = 20.0
    year.day_mean_rh_pct = rh
    record.days = 16

    share = week_held_pct(record)["iron"]

    # two whole weeks; the first object class is over on 3 of 7 days of the first
    objects = year.objects[iron]
    assert share.tolist() == pytest.approx([100.0 * (1.0 - 3.0 / 7.0 * objects[0] / objects.sum()), 100.0])


def test_the_dampest_month_is_centred_on_the_peak_of_the_season(tiny):
    # the store's year starts on 1 January and its humidity peaks on day 250: 30 days about it
    assert abs(wettest_day(tiny, 365) + 15 - 249) <= 1


def test_failures_come_when_the_undisturbed_plan_needs_most(tiny):
    record = small_record()
    run = stress_run(record)
    loaded, worked = np.zeros(365), np.zeros(365)
    loaded[100], worked[200] = 5.0, 60.0
    scout = run._replace(loaded_kg=loaded, worked_min={"anna": worked}, spent_per_year=80.0)

    chosen, notes = stresses_of(tiny, "quarterly", [scout])

    by_name = {stress.name: (stress, variant.scenario_of(tiny).settings) for stress, variant in chosen}
    oven, settings = by_name["oven_out"]
    assert oven.first_day <= 100 <= oven.last_day
    assert oven.last_day - oven.first_day == 29
    assert settings.incidents[-1].starts == tiny.settings.start + timedelta(days=oven.first_day)
    assert by_name["person_away"][1].incidents[-1].name == "anna"
    assert by_name["budget_cut"][1].prices.budget_per_year == 40.0
    assert by_name["wetter_year"][1].climate.shift_rh_pct == 5.0
    assert notes == ()


def test_a_plan_without_oven_and_purchases_says_what_cannot_fail(tiny):
    run = stress_run(small_record())
    idle = run._replace(loaded_kg=np.zeros(365), worked_min={"anna": np.zeros(365)}, spent_per_year=0.0)

    chosen, notes = stresses_of(tiny, "quarterly", [idle])

    assert [stress.name for stress, _ in chosen] == ["air_handling_out", "wetter_year"]
    assert len(notes) == 2
    assert "could not be tested" in notes[1]
    assert "changes nothing" not in notes[1]  # which would read as leave to cut the budget


def test_losses_are_paired_with_the_undisturbed_run(tested):
    first = tested.stresses[0].name
    lost = tested.loss(first, "iron")

    stressed = [next(row.value for row in run.metrics if row.metric == "held_pct.iron") for run in tested.runs[first]]
    base = [next(row.value for row in run.metrics if row.metric == "held_pct.iron") for run in tested.runs[UNDISTURBED]]
    assert lost.held.mean == pytest.approx(np.mean(np.subtract(stressed, base)))
    assert lost.held.low <= lost.held.mean <= lost.held.high


def test_without_the_person_iron_is_lost_and_recovers_after_the_return(tested):
    away = next(stress for stress in tested.stresses if stress.name == "person_away")
    loss = tested.loss("person_away", "iron")

    assert loss.worst_points > 0.5
    assert loss.held.mean < 0
    assert loss.back_week is None or loss.back_week * 7 > away.first_day
    before = slice(0, away.first_day // 7)
    assert tested.week_held("person_away", "iron")[before] == pytest.approx(
        tested.week_held(UNDISTURBED, "iron")[before]
    ), "nothing may change before the failure begins"


def test_a_wetter_year_is_not_better(tested):
    assert tested.loss("wetter_year", "iron").held.mean <= 0.0
    assert tested.loss("wetter_year", "iron").excess.mean >= 0.0


def test_the_words_name_the_worst_failure_first(tested):
    words = text_of(stress_blocks(tested))

    assert max(map(len, words.splitlines())) <= 80
    flat = " ".join(words.split())
    worst = min(tested.losses, key=lambda row: row.held.mean)
    label = next(stress.label for stress in tested.stresses if stress.name == worst.stress)
    assert flat.startswith(f"Plan 'by_metal' is hit hardest by: {label}.")
    assert "under the same luck" in flat
    assert "Cautions" in words


def test_a_plan_that_loses_nothing_says_so(tested):
    calm = [
        row._replace(held=replace(row.held, mean=0.0), excess=replace(row.excess, mean=0.0), worst_points=0.0)
        for row in tested.losses
    ]

    words = text_of(stress_blocks(replace(tested, losses=calm)))

    assert words.startswith("Plan 'by_metal' loses no object-day")
    assert "points held" not in words


def test_the_words_tell_recovery_from_none(tested):
    long = Stress("oven_out", "oven out for 30 days", 7, 36)
    rows = [row for row in tested.losses if row.metal == "iron"][:1]
    two = [rows[0]._replace(stress="oven_out", worst_points=9.0, back_week=week) for week in (None, 8)]

    never, later = (
        text_of(
            stress_blocks(
                replace(
                    tested,
                    stresses=(long,),
                    losses=[row, row._replace(metal="copper", worst_points=0.0)],
                    undone={"oven_out": 0.0},
                )
            )
        )
        for row in two
    )

    assert "has not recovered when the run ends" in " ".join(never.split())
    assert "3 weeks after the end of the failure" in " ".join(later.split())


def test_one_run_has_no_intervals(leaky):
    found = stress_test(Bench(leaky), "by_metal", Precision(replications=1, half_widths={}))

    assert np.isnan(found.losses[0].held.low)
    assert "Bonferroni" not in text_of(stress_blocks(found))


def test_a_half_width_lengthens_the_test(leaky, tested):
    spread = max(row.held.sd for row in tested.losses if row.metal == "iron")

    found = stress_test(
        Bench(leaky), "by_metal", Precision(replications=3, half_widths={"held_pct.iron": 1.8 * spread})
    )

    assert found.replications >= 4


def with_losses(tested, **points):
    """The test with every failure taking so many points of the metal classes named, and nothing of the others."""
    rows = [
        row._replace(
            held=replace(row.held, mean=-points.get(row.metal, 0.0)),
            excess=replace(row.excess, mean=0.0),
            worst_points=points.get(row.metal, 0.0),
            back_week=None,
        )
        for row in tested.losses
    ]
    return replace(tested, losses=rows)


def test_a_failure_that_costs_a_metal_nothing_is_counted_but_not_listed(tested):
    (table,) = [block for block in stress_blocks(with_losses(tested, iron=1.5)) if isinstance(block, Table)]
    texts = {text for column in table.columns for text in (column.text, column.unit)}

    assert len(table.rows) == len(tested.stresses)
    assert f"{len(tested.stresses)}\u00a0pairs" in table.caption
    assert [cell.text for cell in table.rows[0]][2] == "\u22121.50"
    assert {"Failure", "points lost", "%RH days a year"} <= texts
    assert {row[6].text for row in table.rows} == {"never"}


def test_charts_are_those_of_the_metals_hit_hardest_and_the_others_are_counted(tested, monkeypatch):
    hit = with_losses(tested, iron=1.0, copper=3.0)
    monkeypatch.setattr("simstore.prose.answers.stress.MOST_CHARTS", 1)
    blocks = list(stress_blocks(hit))

    assert drawn_metals(hit) == ["copper", "iron"]
    assert drawn_metals(with_losses(tested)) == ["iron"], "lowest ceiling first, where none loses anything"
    assert [block.picture for block in blocks if isinstance(block, Chart)] == ["under_stress_copper"]
    assert any("1\u00a0metal class less hit" in block.text for block in blocks if isinstance(block, Paragraph))
