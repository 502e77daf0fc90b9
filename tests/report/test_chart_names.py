"""Names in the chart of cost against held share: none covers a mark or another name, and the chosen plan has one."""

import pandas as pd
import pytest

from simstore.report.charts.trade_off import tradeoff

LONG = "change each one when its own leak says so; a due list 4 weeks ahead, everything in clip-lid boxes"


def plan(label, cost, held, *, front=False, role=""):
    return {
        "label": label, "cost_mean": cost, "cost_low": cost - 20.0, "cost_high": cost + 20.0, "held_mean": held,
        "held_low": held - 0.1, "held_high": held + 0.1, "on_front": front, "role": role,
    }  # fmt: skip


def drawn(*plans):
    figure = tradeoff(pd.DataFrame(plans), standard_pct=99.0, currency="EUR", what="iron").figure
    figure.canvas.draw()
    return figure, figure.axes[0]


@pytest.mark.parametrize("cost", [1449.0, 3000.0, 5490.0])
@pytest.mark.parametrize("held", [98.9, 99.2, 99.7])
def test_the_name_of_the_standard_and_the_chosen_plan_cover_no_mark(cost, held):
    figure, axes = drawn(
        plan("look", 2164.0, 84.2, role="today"), plan("strip", 5498.0, 99.8, front=True),
        plan(LONG, cost, held, front=True, role="chosen"), plan("other", cost + 200.0, held - 0.05),
    )  # fmt: skip
    texts = {text.get_text(): text.get_window_extent() for text in axes.texts}
    marks = [axes.transData.transform((x, y)) for x, y in ((cost, held), (5498.0, 99.8), (2164.0, 84.2))]

    assert any(text.startswith("Chosen") for text in texts)
    assert "standard 99\u00a0%" in texts
    for text, box in texts.items():
        for x, y in marks:
            assert not (box.x0 < x < box.x1 and box.y0 < y < box.y1), text
    boxes = list(texts.values())
    assert not any(one.overlaps(other) for i, one in enumerate(boxes) for other in boxes[i + 1 :])
    figure.clear()


def test_where_no_choice_follows_the_marked_plan_is_called_the_cheapest():
    points = pd.DataFrame(
        [plan("look", 2164.0, 84.2, role="today"), plan(LONG, 1500.0, 99.7, front=True, role="chosen")]
    )
    picture = tradeoff(points, standard_pct=99.0, currency="EUR", what="iron", marked="cheapest")

    assert picture.title.startswith("The cheapest of these plans that hold keeps iron on 99.7")
    assert any(text.get_text().startswith("Cheapest") for text in picture.figure.axes[0].texts)
    assert "hosen" not in picture.title
