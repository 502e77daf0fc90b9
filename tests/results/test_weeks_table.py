"""The table of hours over the ceiling by week."""

from handmade import small_record

from simstore.results.tables import tables


def test_only_weeks_over_the_ceiling_have_a_row_and_it_names_the_enclosure():
    weeks = tables([small_record()])["weeks"]

    # the hand-made record has one week, with 0, 70 and 0 hours over for its three enclosures
    assert weeks[["enclosure", "week", "hours_over"]].to_numpy().tolist() == [["B-2", 0, 70]]
