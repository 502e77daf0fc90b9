"""The balance table: what came in is above zero, what went out below, and start plus both is the end."""

import pytest
from handmade import small_record

from simstore.results.tables import tables


@pytest.mark.parametrize("book", ["gel", "water"])
def test_start_and_flows_of_a_book_sum_to_its_end(book):
    rows = tables([small_record()])["balance"]
    rows = rows[rows["book"] == book]
    end_kg = float(rows.loc[rows["entry"] == "end", "kg"].iloc[0])

    assert rows["entry"].iloc[0] == "start"
    assert rows["entry"].iloc[-1] == "end"
    assert float(rows.loc[rows["entry"] != "end", "kg"].sum()) == pytest.approx(end_kg, rel=1e-12)


def test_what_leaves_the_store_is_below_zero():
    rows = tables([small_record()])["balance"].set_index(["book", "entry"])["kg"]

    assert rows["gel", "lost"] == -0.6
    assert rows["water", "driven_off"] == -0.1
    assert rows["gel", "bought"] == 2.0
