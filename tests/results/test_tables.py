"""Tables: schema, order and values against what the hand-made record holds."""

import numpy as np
import pandas as pd
import pytest
from handmade import small_record

from simstore.errors import SimstoreError
from simstore.results.day_columns import sorted_quantiles
from simstore.results.table_columns import TABLES
from simstore.results.tables import tables
from simstore.sim.record import Mishap


def made(*records):
    return tables(records or [small_record()])


def test_every_table_has_the_columns_and_types_of_the_schema_in_its_order():
    found = made()

    assert list(found) == list(TABLES)
    for name, columns in TABLES.items():
        assert list(found[name].columns) == [column.name for column in columns], name
        assert [str(dtype) for dtype in found[name].dtypes] == [column.dtype for column in columns], name


def test_tables_of_nothing_keep_their_columns_and_types():
    found = tables([])

    for name, columns in TABLES.items():
        assert found[name].empty
        assert [str(dtype) for dtype in found[name].dtypes] == [column.dtype for column in columns], name


def test_replications_are_ordered_by_plan_and_number_whatever_order_they_came_in():
    runs = [small_record("yearly", 1), small_record("quarterly", 1), small_record("yearly", 0), small_record()]
    expected = made(*sorted(runs, key=lambda run: (run.plan, run.replication)))

    found = made(*runs)

    for name in TABLES:
        pd.testing.assert_frame_equal(found[name], expected[name])
    assert found["enclosures"]["plan"].tolist() == ["quarterly"] * 6 + ["yearly"] * 6


def test_exchanges_are_ordered_by_time_and_carry_ids_and_dates():
    exchanges = made()["exchanges"]

    assert exchanges["minute"].tolist() == [600, 2000, 2000]
    assert exchanges["enclosure"].tolist() == ["B-2", "B-2", "C-1"]
    assert exchanges["date"].tolist() == ["2025-01-01", "2025-01-02", "2025-01-02"]
    assert exchanges["waited_days"].tolist() == [0.0, 1.0, 1.0]


def test_what_never_ended_is_missing_not_zero():
    found = made()

    assert found["rounds"]["ended_min"].tolist()[0] == 600
    assert pd.isna(found["rounds"]["ended_min"].iloc[1])
    assert pd.isna(found["loads"]["water_out_kg"].iloc[1])
    assert pd.isna(found["orders"]["arrived_min"].iloc[0])


def test_days_count_the_share_of_objects_over_the_ceiling_and_the_middle_enclosure():
    days = made()["days"]
    iron = days[days["metal"] == "iron"]

    # B-1 (3 objects) never over 15 %RH; B-2 (1 object) from the second day: 1 of 4 objects.
    assert iron["over_pct"].tolist() == [0.0, 25.0, 25.0, 25.0]
    assert iron["rh_p50_pct"].tolist() == [12.0, 13.5, 15.0, 16.5]
    assert iron["rh_p05_pct"].tolist() == pytest.approx([10.2, 11.25, 12.3, 13.35])
    assert days["metal"].tolist() == ["bronze", "iron"] * 4
    assert days["form"].tolist() == ["bag", "box"] * 4
    assert days["room_rh_pct"].tolist() == [50.0, 50.0, 54.0, 54.0, 50.0, 50.0, 54.0, 54.0]
    assert days["date"].tolist()[-1] == "2025-01-04"


def test_quantiles_agree_with_numpy():
    values = np.random.default_rng(3).normal(size=(7, 31)).astype(np.float32)
    shares = np.array([0.0, 0.05, 0.37, 0.5, 0.95, 1.0])

    found = sorted_quantiles(np.sort(values, axis=1), shares)

    # Source: numpy.quantile, method "linear" (Hyndman and Fan's definition 7).
    np.testing.assert_allclose(found, np.quantile(values.astype(np.float64), shares, axis=1), rtol=1e-12)


def test_days_before_a_find_arrived_do_not_count():
    record = small_record()
    record.enclosures.day_mean_rh_pct[1, :2] = np.nan
    days = tables([record])["days"]
    iron = days[days["metal"] == "iron"]

    # B-2 comes on the third day: until then B-1 alone, with 10 and 11 %RH.
    assert iron["enclosures"].tolist() == [1, 1, 2, 2]
    assert iron["rh_p95_pct"].tolist()[:2] == [10.0, 11.0]
    assert iron["rh_p50_pct"].tolist() == [10.0, 11.0, 15.0, 16.5]
    assert iron["over_pct"].tolist() == [0.0, 0.0, 25.0, 25.0]


def test_a_metal_class_of_which_nothing_has_arrived_has_empty_cells():
    record = small_record()
    record.enclosures.day_mean_rh_pct[2, 0] = np.nan
    bronze = tables([record])["days"].query("metal == 'bronze' and day == 0")

    assert bronze["enclosures"].tolist() == [0]
    assert bronze[["rh_p05_pct", "rh_p50_pct", "over_pct"]].isna().all(axis=None)


def test_mishaps_and_watched_enclosures_have_their_tables():
    record = small_record()
    record.mishaps = [Mishap("oven", "small 2", "small", 1500), Mishap("enclosure", "B-1", "box", 60, mended_min=90)]
    record.watched = {"B-2": np.array([20.0, 21.0], dtype=np.float32), "B-1": np.array([np.nan, 9.0], dtype=np.float32)}
    found = tables([record])

    assert found["mishaps"]["subject"].tolist() == ["B-1", "small 2"]
    assert found["mishaps"]["cost"].tolist() == [30.0, 80.0]
    assert found["mishaps"]["date"].tolist() == ["2025-01-01", "2025-01-02"]
    assert found["watched"]["enclosure"].tolist() == ["B-1", "B-1", "B-2", "B-2"]
    assert found["watched"]["hour"].tolist() == [0, 1, 0, 1]
    assert found["watched"]["rh_pct"].tolist()[1:] == [9.0, 20.0, 21.0]


def test_held_share_is_by_days_and_enclosures_keep_the_register_order():
    enclosures = made()["enclosures"]

    assert enclosures["enclosure"].tolist() == ["B-1", "B-2", "C-1"]
    assert enclosures["held_pct"].tolist() == [100.0, 25.0, 100.0]


@pytest.mark.parametrize("error", [2e-9, -2e-9, float("nan")])
def test_books_that_do_not_close_are_an_error(error):
    with pytest.raises(SimstoreError, match="water is out by"):
        made(small_record(water_error=error))
