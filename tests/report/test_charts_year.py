"""What the charts of the year show."""

import numpy as np
import pandas as pd
import pytest
from invented_year import DAYS, START, settings, table, year

from simstore.prose.chart_titles import metal_years, rh_finding, weeks_finding, work_finding
from simstore.report.charts.months import turns_of_months
from simstore.report.charts.weeks_over import spans_of_class
from simstore.report.charts.year import rh_of_the_year, weeks_over, work_of_the_year
from simstore.results.pooled import oven_weeks, rh_days, staff_weeks
from simstore.scenario.values.housing import Metal


def plain(text: str) -> str:
    return text.replace("\u00a0", " ").replace("\n", " ")


def all_texts(figure) -> str:
    from matplotlib.text import Text

    return plain(" | ".join(t.get_text() for t in figure.findobj(Text) if t.get_text()))


def day_rows(metal: str, over_by_day: dict[str, float], form: str = "box", replication: int = 0) -> list[tuple]:
    return [
        ("today", replication, day, date, metal, form, 10, 1.0, 2.0, 3.0, 4.0, 5.0, over, 60.0, 16.0)
        for day, (date, over) in enumerate(over_by_day.items())
    ]


def enclosure_row(name: str, kind: str, metal: str, objects: int, hours: int = 0, *, over: float = 0.0) -> dict:
    return {
        "plan": "today", "replication": 0, "enclosure": name, "kind": kind, "metal": metal, "objects": objects,
        "days": 365, "leak_per_day": 1.0, "held_pct": 100.0 - over, "hours_over": hours, "excess_pct_days": 0.0,
        "worst_rh_pct": 10.0, "mean_rh_pct": 5.0, "exchanges": 1,
    }  # fmt: skip


def dates(start: str, count: int) -> list[str]:
    return [str(d.date()) for d in pd.date_range(start, periods=count)]


def test_shares_over_are_weighed_by_objects_not_by_enclosures():
    over = dict.fromkeys(dates("2026-03-01", 10), 10.0)
    days = table("days", day_rows("iron", over, "box") + day_rows("iron", dict.fromkeys(over, 50.0), "bag"))
    enclosures = table(
        "enclosures",
        [enclosure_row("a", "box5", "iron", 30, over=10.0), enclosure_row("b", "bag3", "iron", 10, over=50.0)],
    )

    (iron,) = metal_years(rh_days(days), enclosures, settings())

    assert iron.over_pct == pytest.approx((30 * 10 + 10 * 50) / 40)  # by hand: 20 %
    assert iron.month_over_pct == {3: pytest.approx(20.0)}


def test_a_failing_metal_is_named_with_ceiling_months_share_and_what_is_allowed():
    shares = {date: (24.0 if "07" <= date[5:7] <= "10" else 0.0) for date in dates("2026-01-01", 365)}
    days = table("days", day_rows("iron", shares) + day_rows("copper", dict.fromkeys(shares, 0.0)))
    # July to October have 31 + 31 + 30 + 31 = 123 days: 24 % x 123/365 = 8.09 %
    iron = enclosure_row("a", "box5", "iron", 1, over=24.0 * 123 / 365)
    enclosures = table("enclosures", [iron, enclosure_row("b", "box5", "copper", 1)])

    title = rh_finding(metal_years(rh_days(days), enclosures, settings()))

    assert plain(title) == "Iron passes its 15 %RH ceiling from July to October: 8.1 % of object-days over, 1 % allowed"


def test_a_month_that_the_run_hardly_touches_is_not_named():
    shares = dict.fromkeys(dates("2026-01-04", 365), 0.0)
    shares |= {date: 100.0 for date in shares if date >= "2026-12-01"}
    days = table("days", day_rows("iron", shares))
    enclosures = table("enclosures", [enclosure_row("a", "box5", "iron", 1, over=100.0 * 34 / 365)])

    title = rh_finding(metal_years(rh_days(days), enclosures, settings()))

    assert "ceiling in December:" in plain(title)


def test_two_failing_metals_are_both_named_worst_first():
    shares = dict.fromkeys(dates("2026-01-01", 365), 5.0)
    days = table("days", day_rows("copper", shares) + day_rows("iron", dict.fromkeys(shares, 2.0)))
    rows = [enclosure_row("a", "box5", "iron", 1, over=2.0), enclosure_row("b", "box5", "copper", 1, over=5.0)]
    enclosures = table("enclosures", rows)

    title = plain(rh_finding(metal_years(rh_days(days), enclosures, settings())))

    assert title == (
        "Copper alloy passes its 38 %RH ceiling all year (5 % of object-days over, 1 % allowed), "
        "iron its 15 %RH ceiling all year (2 % over, 1 % allowed)"
    )


def test_a_store_that_holds_says_so_and_which_metal_comes_closest():
    tables = year(damp=0.5)

    picture = rh_of_the_year(tables, settings(), plan="today")

    assert picture.title.startswith("Every metal class meets its standard; iron comes closest")
    assert picture.title == plain_title(picture)


def plain_title(picture) -> str:
    return picture.figure.get_suptitle().replace("\n", " ")


def test_exactly_the_allowed_share_still_holds():
    days = table("days", day_rows("iron", dict.fromkeys(dates("2026-01-01", 30), 1.0)))
    enclosures = table("enclosures", [enclosure_row("a", "box5", "iron", 1, over=1.0)])

    assert rh_finding(metal_years(rh_days(days), enclosures, settings())).startswith("Iron meets its standard")


def test_a_year_without_any_passing_says_that():
    days = table("days", day_rows("iron", dict.fromkeys(dates("2026-01-01", 30), 0.0)))
    enclosures = table("enclosures", [enclosure_row("a", "box5", "iron", 1)])

    assert (
        rh_finding(metal_years(rh_days(days), enclosures, settings()))
        == "No metal class passes its ceiling on any day of the run"
    )


def test_medians_and_bands_are_means_of_the_replications_quantiles_and_the_ceiling_is_labelled():
    tables = year(replications=2)
    own = tables["days"].query("metal == 'copper'")
    expected = (
        own.query("replication == 0")["rh_p50_pct"].to_numpy() + own.query("replication == 1")["rh_p50_pct"].to_numpy()
    ) / 2

    figure = rh_of_the_year(tables, settings(), plan="today").figure

    medians = [line for axes in figure.axes for line in axes.lines if line.get_label() == "median"]
    assert len(medians) == 3  # iron in boxes, iron in bags, copper in boxes
    assert medians[2].get_ydata() == pytest.approx(expected)
    ceilings = [line.get_ydata()[0] for axes in figure.axes for line in axes.lines if line.get_label() == "ceiling"]
    assert ceilings == [15.0, 15.0, 38.0]
    assert "ceiling 15 %RH" in all_texts(figure)
    assert "ceiling 38 %RH" in all_texts(figure)
    assert "RH inside, %RH" in all_texts(figure)
    assert "230 boxes" in all_texts(figure)
    assert "60 bags" in all_texts(figure)


def test_the_rooms_humidity_is_drawn_day_by_day():
    tables = year()
    figure = rh_of_the_year(tables, settings(), plan="today").figure
    (room,) = [line for axes in figure.axes for line in axes.lines if line.get_label() == "room"]

    assert room.get_ydata() == pytest.approx(tables["days"].query("metal == 'copper'")["room_rh_pct"].to_numpy())


def test_the_note_on_invented_data_stands_at_the_foot_of_every_chart_of_the_year():
    tables = year()
    for picture in (
        rh_of_the_year(tables, settings(), plan="today"),
        weeks_over(tables, settings(), plan="today", days=DAYS),
        work_of_the_year(tables, settings(), plan="today", days=DAYS),
    ):
        assert "Invented demonstration data." in all_texts(picture.figure)


def test_a_plan_that_was_not_run_is_refused():
    with pytest.raises(ValueError, match="plan 'other' has no rows"):
        rh_of_the_year(year(), settings(), plan="other")


def test_months_turn_on_their_first_days_also_in_a_leap_year():
    from datetime import date

    # Gregorian calendar: 2028 is a leap year, so 1 March is day 60 counted from 0
    assert turns_of_months(date(2028, 1, 1), 90) == [0, 31, 60, 90]
    assert turns_of_months(date(2026, 1, 4), 60) == [0, 28, 56, 60]


def test_hours_over_fall_into_classes_and_neighbouring_weeks_join():
    hours = np.array([[0, 1, 24, 25, 168, 168, 0], [0, 0, 0, 0, 0, 0, 0]], dtype=float)

    assert spans_of_class(hours) == [(1, 0, 1, 3), (2, 0, 3, 4), (4, 0, 4, 6)]


def week_tables(hours_by_name: dict[str, list[int]], metal: str = "iron") -> dict[str, pd.DataFrame]:
    enclosures = [enclosure_row(n, "box5", metal, 1, sum(h)) for n, h in hours_by_name.items()]
    weeks = [("today", 0, n, w, h) for n, hours in hours_by_name.items() for w, h in enumerate(hours) if h]
    return {"enclosures": table("enclosures", enclosures), "weeks": table("weeks", weeks)}


def test_enclosures_are_sorted_by_hours_over_and_those_that_never_passed_are_counted():
    tables = week_tables({"a": [0, 5], "b": [0, 0], "c": [100, 168], "d": [0, 0]})

    picture = weeks_over(tables, settings(), plan="today", days=14)

    texts = all_texts(picture.figure)
    assert plain(picture.title) == "Iron: 2 of 4 enclosures passed their ceiling at some time"
    assert "2 of 4 enclosures never passed" in texts
    assert texts.index("c | 268") < texts.index("a | 5")
    assert "hours over" in texts


def test_only_the_worst_are_drawn_and_the_rest_is_counted():
    tables = week_tables({f"e{i}": [i] for i in range(1, 8)})

    texts = all_texts(weeks_over(tables, settings(), plan="today", days=7, rows=3).figure)

    assert "the 3 worst are shown, 4 more are not" in texts
    assert "e7" in texts
    assert "e4" not in texts


def test_where_nothing_passed_the_chart_says_so():
    picture = weeks_over(week_tables({"a": [0], "b": [0]}), settings(), plan="today", days=7)

    assert picture.title == "None of 2 enclosures ever passed its ceiling"
    assert "none passed it (of 2)" in all_texts(picture.figure)


def test_with_several_runs_hours_and_counts_are_means():
    tables = week_tables({"a": [10], "b": [0]})
    second = tables["enclosures"].assign(replication=1, hours_over=0)
    tables["enclosures"] = pd.concat([tables["enclosures"], second])

    picture = weeks_over(tables, settings(), plan="today", days=7)

    assert picture.data.set_index("enclosure").loc["a", "week_0"] == pytest.approx(5.0)
    assert plain(picture.title) == "Iron: on average 0.5 of 2 enclosures passed their ceiling at some time"


def test_a_finding_on_weeks_names_each_metal_that_passed():
    said = weeks_finding([("iron", 41, 290), ("lead", 0, 65), ("copper", 2, 190)], 1)

    assert said == "Iron: 41 of 290 enclosures passed their ceiling at some time; copper: 2 of 190"


def load(start_min: int, hot_min: int | None, cool_min: int | None, unloaded_min: int | None, kg: float = 4.0) -> tuple:
    return ("today", 0, "small 1", "a", start_min, hot_min, cool_min, unloaded_min, 20, kg, 1.0, 0.1, 3.0)


def test_a_load_over_the_turn_of_the_week_counts_in_both_weeks():
    week = 7 * 1440
    # by hand: heating 2 h before and 5 h after the turn, cooling 6 h, waiting 10 h
    loads = table("loads", [load(week - 120, week + 300, week + 660, week + 1260)])

    weeks = oven_weeks(loads, days=14, replications=1)

    assert weeks["heating_h"].tolist() == [2.0, 5.0]
    assert weeks["cooling_h"].tolist() == [0.0, 6.0]
    assert weeks["waiting_h"].tolist() == [0.0, 10.0]
    assert weeks["dried_kg"].tolist() == [0.0, 4.0]


def test_a_load_that_the_run_cut_off_is_heating_until_the_end_and_dries_nothing():
    loads = table("loads", [load(13 * 1440, None, None, None)])

    weeks = oven_weeks(loads, days=14, replications=1)

    assert weeks["heating_h"].tolist() == [0.0, 24.0]
    assert weeks["dried_kg"].sum() == 0.0


def test_gel_taken_out_hot_leaves_the_oven_neither_cooling_nor_waiting():
    loads = table("loads", [load(0, 420, 900, 420)])

    weeks = oven_weeks(loads, days=7, replications=1)

    assert weeks[["heating_h", "cooling_h", "waiting_h"]].to_numpy().tolist() == [[7.0, 0.0, 0.0]]


def test_staff_hours_add_up_to_the_sessions():
    rows = [("today", 0, m, "2026-01-01", "a", task, minutes) for m, task, minutes in
            [(600, "exchange", 90), (600, "idle", 30), (11000, "inspect", 60), (11000, "exchange", 30)]]  # fmt: skip

    weeks = staff_weeks(table("staff", rows), days=14, replications=1)

    assert weeks.columns.tolist() == ["week", "exchange_h", "inspect_h", "session_h"]
    assert weeks["exchange_h"].tolist() == [1.5, 0.5]
    assert weeks["session_h"].tolist() == [2.0, 1.5]


def test_the_chart_of_work_marks_least_stock_reorder_point_and_what_there_is():
    tables = year()
    least = int(tables["stock"]["ready"].min())

    figure = work_of_the_year(tables, settings(), plan="today", days=DAYS).figure

    lines = {line.get_label(): line for axes in figure.axes for line in axes.lines}
    assert lines["reorder point"].get_ydata()[0] == 20
    assert lines["possible"].get_ydata()[0] == 168
    assert lines["least"].get_ydata()[0] == least
    texts = all_texts(figure)
    assert "order at 20" in texts
    assert "168 h in a week" in texts
    assert "h a week" in texts
    assert "packets" in texts


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        (
            (23, 0, 92, 54),
            (
                "Dry packets run out on 23 days of the run; ovens are taken 92 % of the time, "
                "staff work 54 % of their session hours"
            ),
        ),
        (
            (0, 14, 41, 96),
            (
                "Dry packets never run out (least 14 packets); ovens are taken 41 % of the time, "
                "staff work 96 % of their session hours"
            ),
        ),
        ((0, None, None, 50), "Staff work 50 % of their session hours"),
    ],
)
def test_the_finding_on_work_says_whether_packets_ran_out_and_how_far_oven_and_people_are_used(facts, said):
    out_days, least, busy_pct, staff_pct = facts
    title = work_finding(out_days=out_days, least_ready=least, oven_busy_pct=busy_pct, staff_pct=staff_pct)

    assert plain(title) == said


def test_a_store_without_oven_loads_or_stock_can_still_be_drawn():
    tables = year() | {name: table(name, []) for name in ("loads", "stock", "staff", "weeks")}
    bare = settings(ovens={}, stock={})

    picture = work_of_the_year(tables, bare, plan="today", days=DAYS)

    assert "No oven" in all_texts(picture.figure)


def test_a_store_that_fails_and_one_that_holds_get_different_titles():
    failing = rh_of_the_year(year(damp=1.3), settings(), plan="today")
    holding = rh_of_the_year(year(damp=0.5), settings(), plan="today")

    assert "passes its 15 %RH ceiling" in plain(failing.title)
    assert "meets its standard" in holding.title


def test_a_looser_standard_turns_a_failing_store_into_a_holding_one():
    tables = year(damp=0.8)
    loose = settings(
        metals={
            "iron": Metal(label="iron", ceiling_rh_pct=15.0, standard_pct=90.0),
            "copper": Metal(label="copper alloy", ceiling_rh_pct=38.0, standard_pct=90.0),
        }
    )

    assert "passes" in rh_of_the_year(tables, settings(), plan="today").title
    assert "meets its standard" in rh_of_the_year(tables, loose, plan="today").title


def test_invented_tables_begin_on_the_settings_first_day():
    assert year()["days"]["date"].iloc[0] == str(START)


def test_objects_that_came_late_count_only_for_their_days_in_the_store():
    days = table("days", day_rows("iron", dict.fromkeys(dates("2026-01-01", 30), 5.0)))
    early, late = enclosure_row("a", "box5", "iron", 1), enclosure_row("b", "box5", "iron", 1, over=40.0)
    enclosures = table("enclosures", [early | {"days": 300}, late | {"days": 100}])

    (iron,) = metal_years(rh_days(days), enclosures, settings())

    # by hand: 40 of 400 object-days
    assert iron.over_pct == pytest.approx(10.0)
