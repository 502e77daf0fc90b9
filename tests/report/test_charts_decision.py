"""What the charts for decisions show."""

import pytest
from invented_decisions import additions, differences, grid, hours, inputs, plans, stresses
from invented_year import START

from simstore.report.charts import style
from simstore.report.charts.decisions import (
    cadence_and_stock,
    hours_and_excess,
    paired_differences,
    tradeoff,
    under_stress,
    what_more_buys,
    what_to_measure,
)


def plain(text: str) -> str:
    return text.replace("\u00a0", " ").replace("\n", " ")


def all_texts(figure) -> str:
    from matplotlib.text import Text

    return plain(" | ".join(t.get_text() for t in figure.findobj(Text) if t.get_text()))


def test_the_tradeoff_names_the_chosen_and_todays_plan_and_says_what_the_better_one_costs():
    picture = tradeoff(plans(), standard_pct=99.0, currency="EUR", what="iron", source="Invented.")

    assert plain(picture.title) == (
        "The chosen plan holds iron on 99.3 % of object-days for 8 200 EUR a year, 400 EUR more than today's plan, "
        "which holds 96 %"
    )
    texts = all_texts(picture.figure)
    assert "Chosen: forecast, measured leaks" in texts
    assert "Today: every 13 weeks" in texts
    assert "annual-equivalent cost, EUR a year" in texts
    assert "iron object-days held, %" in texts
    assert "standard 99 %" in texts


def test_the_front_is_a_line_through_its_plans_in_order_of_cost():
    figure = tradeoff(plans(), standard_pct=99.0, currency="EUR", what="iron").figure
    (front,) = [line for line in figure.axes[0].lines if line.get_label() == "front"]

    assert front.get_xdata().tolist() == [5200, 6100, 6900, 7400, 8200, 9600]


def test_without_a_plan_that_meets_the_standard_the_best_is_named_and_never_rounded_up_to_it():
    table = plans(chosen=False)
    table.loc[5, "held_mean"] = 99.76
    title = plain(tradeoff(table, standard_pct=99.8, currency="EUR", what="iron").title)

    assert title == "No plan holds iron for 99.8 % of object-days; the best, forecast, two ovens, holds 99.76 %"


def test_the_region_of_cadence_and_stock_is_dark_where_the_standard_is_met_and_named_in_the_title():
    picture = cadence_and_stock(grid(), standard_pct=99.0, what="iron")
    dark = [patch for patch in picture.figure.axes[0].collections if patch.get_facecolor()[0][0] < 0.5]

    assert len(dark) == int(grid()["meets"].sum())
    assert picture.title == "Iron is held with up to 13 weeks between exchanges, if 20 packets stand ready"
    none = cadence_and_stock(grid().assign(meets=False), standard_pct=99.0, what="iron")
    assert none.title.startswith("No combination of cadence and ready stock holds iron")


def test_hours_and_excess_are_drawn_with_their_units():
    picture = hours_and_excess(hours())
    texts = all_texts(picture.figure)

    assert "staff hours a week" in texts
    assert "excess, %RH days a year" in texts
    assert plain(picture.title).startswith("From 2 to 8 staff hours a week, the excess")


def test_differences_carry_their_intervals_and_units_and_count_better_and_worse():
    picture = paired_differences(differences(), first="forecast", second="today")
    texts = all_texts(picture.figure)

    assert picture.data["judgement"].tolist() == ["better", "undecided", "worse", "better", "better", "other"]
    assert plain(picture.title).endswith("better in 3 of 6 measures, worse in 1")
    assert "+400 EUR a year" in texts
    assert "+250 to +560" in texts
    assert "\u221261 h a year" in texts
    zero = picture.figure.axes[0].lines[0]
    assert list(zero.get_xdata()) == [0.0, 0.0]


def test_each_difference_is_scaled_by_its_own_interval_so_that_signs_can_be_compared():
    figure = paired_differences(differences(), first="a", second="b").figure
    (cost,) = [line for line in figure.axes[0].lines if line.get_label() == "annual-equivalent cost"]

    assert cost.get_xdata() == pytest.approx([250 / 560, 1.0])


def test_where_nothing_is_decided_the_title_says_so():
    rows = differences().assign(low=-1000.0, high=1000.0)

    assert "neither better nor worse" in paired_differences(rows, first="a", second="b").title


def test_what_more_buys_is_sorted_by_gain_and_an_addition_that_may_buy_nothing_is_hollow():
    picture = what_more_buys(additions(), currency="EUR", what="iron")
    oven = [line for line in picture.figure.axes[0].lines if line.get_marker() == "o"][-1]

    assert picture.data["label"].tolist() == [
        "measured leaks",
        "2 more hours a week",
        "10 kg more gel",
        "one more oven",
    ]
    assert oven.get_markerfacecolor() == "white"
    assert plain(picture.title) == (
        "Measured leaks would buy most: +3.1 percentage points of iron object-days held, and 250 EUR less a year"
    )
    assert "percentage points" in all_texts(picture.figure)


def test_if_no_addition_surely_helps_the_title_does_not_claim_one():
    rows = additions().assign(gain_low=-0.5)

    assert (
        what_more_buys(rows, currency="EUR", what="iron").title
        == "None of these additions surely holds more iron object-days"
    )


def test_stresses_are_drawn_worst_first_against_the_undisturbed_plan():
    weeks, spans = stresses()
    picture = under_stress(weeks, spans, standard_pct=99.0, what="iron", start=START)

    assert plain(picture.title).startswith("Technician away for six weeks hits hardest:")
    assert plain(picture.title).endswith("1 of 3 stresses break the standard")
    lines = {line.get_label(): line for line in picture.figure.axes[0].lines}
    away = weeks[weeks["stress"] == "away"]["held_pct"].to_numpy()
    assert lines["stressed"].get_ydata() == pytest.approx(away)
    assert lines["undisturbed"].get_ydata() == pytest.approx(
        weeks[weeks["stress"] == "undisturbed"]["held_pct"].to_numpy()
    )


def test_a_plan_that_keeps_its_standard_under_every_stress_is_said_to():
    weeks, spans = stresses()

    title = under_stress(weeks, spans, standard_pct=95.0, what="iron", start=START).title

    assert title.startswith("The plan keeps its standard under every stress")


def test_the_input_that_changes_the_decision_is_to_be_measured_first_even_if_another_moves_more():
    rows = inputs()
    rows.loc[0, "changes_decision"] = False  # the widest no longer decides

    picture = what_to_measure(rows, base=99.3, result="iron object-days held", unit="%", limit=99.0)

    assert plain(picture.title).startswith("Measure minutes for an exchange first: between 4 and 9 min")
    assert all_texts(picture.figure).count("measure this first") == 1
    assert "iron object-days held, %" in all_texts(picture.figure)
    assert picture.data["label"].iloc[0] == "spread of box leaks"


def test_if_no_input_changes_the_decision_the_title_says_which_moves_the_result_most():
    picture = what_to_measure(inputs(decide=False), base=99.3, result="iron object-days held", unit="%")

    assert plain(picture.title) == (
        "None of the 5 inputs that move most changes the plan; spread of box leaks moves iron object-days held most, "
        "by 2.5 %"
    )
    assert "measure this first" not in all_texts(picture.figure)
    assert all_texts(picture.figure).count("moves it most") == 1


@pytest.mark.parametrize(
    ("examined", "title"),
    [(3, "None of the 3 inputs that move most changes the plan;"), (1, "The input that moves most does not change the"),
     (0, "Spread of box leaks moves iron object-days held most")],
)  # fmt: skip
def test_the_title_speaks_only_of_inputs_whose_worth_was_worked_out(examined, title):
    rows = inputs(decide=False).assign(examined=[place < examined for place in range(5)], measure_first=False)

    assert plain(what_to_measure(rows, base=99.3, result="iron object-days held", unit="%").title).startswith(title)


def test_an_input_that_decides_but_is_worth_nothing_is_not_to_be_measured_first():
    picture = what_to_measure(inputs().assign(measure_first=False), base=99.3, result="iron held", unit="%")

    assert plain(picture.title).startswith("None of the 5 inputs that move most is worth knowing first;")
    assert "measure this first" not in all_texts(picture.figure)
    assert all_texts(picture.figure).count("may change the plan") == 2


def test_the_ends_of_a_range_keep_three_figures_and_stay_clear_of_the_stamps():
    rows = inputs().assign(unit="times as much", high_value=[1.05, 2.25, 0.36, 9.0, 62.0])
    figure = what_to_measure(rows, base=99.3, result="iron object-days held", unit="%", limit=99.0).figure
    axes = figure.axes[0]
    ends = {plain(text.get_text()): text.get_window_extent() for text in axes.texts if "times" in text.get_text()}
    stamps = [
        text.get_window_extent()
        for text in axes.texts
        if text.get_text() in ("measure this first", "may change the plan")
    ]

    assert {"1.05 times as much", "2.25 times as much", "0.36 times as much"} <= set(ends)
    assert len(stamps) == 2
    assert max(box.x1 for box in ends.values()) < min(box.x0 for box in stamps)
    assert min(box.x0 for box in ends.values()) > axes.get_window_extent().x0
    assert max(box.x1 for box in stamps) < figure.bbox.width


def test_lines_that_carry_a_meaning_also_differ_in_dash_or_mark():
    assert len({str(line) for line in style.LINES}) == len(style.SERIES)
