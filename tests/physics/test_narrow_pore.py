"""The gel that is taken when nobody has measured the gel at hand, against measured points.

Every point is in `tests/measured_gels.csv` with its source; the bounds are those of the points (digitised within 2 %,
gravimetric within 10 %) or are said.
"""

from __future__ import annotations

import numpy as np
import pytest
from fit_gels import FIVE, TABLE_C, measured, table
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.air import kelvin
from simstore.physics.narrow_pore import MIDDLE_PCT, NARROW_PORE_GEL, STRONG_PCT, TABLE, WEAK_PCT, narrow_pore_gel

WEAK, MIDDLE, STRONG = (narrow_pore_gel(pct) for pct in (WEAK_PCT, MIDDLE_PCT, STRONG_PCT))


def over(gel, points):
    """Measured water over that of ``gel``."""
    return np.array([one.kg_per_kg / float(gel.uptake_kg_per_kg(one.rh_pct / 100.0, one.temp_c)) for one in points])


def near(points, *, temp_c, rh_pct):
    return [one for one in points if temp_c[0] <= one.temp_c <= temp_c[1] and rh_pct[0] <= one.rh_pct <= rh_pct[1]]


def test_fitting_again_gives_the_table():
    assert np.array(TABLE) == pytest.approx(table(), abs=1.01e-4)


def test_the_middle_gel_holds_what_gels_hold_on_the_mean_where_iron_is_decided():
    of_gels = [over(MIDDLE, near(measured(gel), temp_c=(15, 35), rh_pct=(8, 22))) for gel in (*FIVE, "sakoda")]
    means = [each.mean() for each in of_gels if each.size]

    assert len(means) == 4  # the other two are not measured there
    assert np.concatenate(of_gels).mean() == pytest.approx(1.0, abs=0.03)
    assert np.mean(means) == pytest.approx(1.0, abs=0.03)


def test_so_it_does_over_all_five_gels_when_warmer_points_are_counted_too():
    of_gels = [over(MIDDLE, near(measured(gel), temp_c=(15, 50), rh_pct=(8, 22))) for gel in FIVE]

    assert all(each.size for each in of_gels)
    assert np.mean([each.mean() for each in of_gels]) == pytest.approx(1.0, abs=0.03)


# Sakoda and Suzuki at 20-25 degC are part of it, though they were not fitted.
@pytest.mark.parametrize("gel", [*FIVE, "sakoda"])
def test_weak_and_strong_enclose_every_measured_gel(gel):
    points = near(measured(gel), temp_c=(15, 51), rh_pct=(3, 45.0))

    assert points
    assert np.all(over(WEAK, points) > 0.97)
    assert np.all(over(STRONG, points) < 1.03)


# The one gel that was measured in the cold, Wang and LeVan 2009: a known bias, stated in the module and the manual.
def test_at_0_degc_the_one_measured_gel_lies_below_the_middle_one_and_near_the_weak_one():
    points = near(measured("wang_levan"), temp_c=(0, 0), rh_pct=(3, 45))

    assert np.all(over(MIDDLE, points) < 0.90)
    assert np.all(over(MIDDLE, points) > 0.84)
    assert np.all(over(WEAK, points) > 0.94)


# Sapienza et al. 2017, isobars of 1.0 and 1.75 kPa from 78 to 145 degC: 0.13 to 2.94 % of water, read to 0.1 % or so.
def test_nearly_dry_gel_in_the_oven_agrees_with_the_isobars_within_a_factor_of_two():
    points = near(measured("sapienza"), temp_c=(70, 150), rh_pct=(0, 5))

    assert len(points) == 11
    assert np.all(over(MIDDLE, points) > 0.5)
    assert np.all(over(MIDDLE, points) < 2.0)


def days_until(rh_pct: float, points: list[tuple[float, float]], *, room_rh_pct: float, supplied: float) -> float:
    """Days in which 100 g of gel fill a 5 l box at 20 degC, one air change a day: Euler on the points, interpolated.

    The points are %RH and kg/kg at 25 degC. At 20 degC the same water is at the RH of the same potential.
    """
    known = np.array([(0.0, 0.0), *sorted(points)])
    rh_at_20 = 100.0 * np.exp(np.log(np.maximum(known[:, 0], 1e-12) / 100.0) * kelvin(TABLE_C) / kelvin(20.0))
    air_kg_per_day = 0.005 * 17.29e-3  # 17.29 g/m3 of saturated air at 20 degC
    water, day, step = supplied, 0.0, 0.01
    while (inside := float(np.interp(water, known[:, 1], rh_at_20))) < rh_pct:
        water += step * air_kg_per_day * (room_rh_pct - inside) / 100.0 / 0.1
        day += step
    return day


def at_25_degc(gel: str) -> list[tuple[float, float]]:
    """Points of a gel between 15 and 50 degC, as %RH of the same potential at 25 degC, and water."""
    points = near(measured(gel), temp_c=(15, 50), rh_pct=(0, 60))
    as_at_25 = [100.0 * (p.rh_pct / 100.0) ** (kelvin(p.temp_c) / kelvin(TABLE_C)) for p in points]
    rising = sorted(zip(map(float, as_at_25), (p.kg_per_kg for p in points), strict=True))
    return [point for place, point in enumerate(rising) if all(point[1] > before[1] for before in rising[:place])]


# 2 % of water is what JIS Z 0701 class 1 allows as supplied; 5 % is gel that was not dried well.
@pytest.mark.parametrize("room_rh_pct", [45.0, 60.0])
@pytest.mark.parametrize("supplied", [0.02, 0.05])
def test_days_until_iron_is_at_risk_are_those_of_the_measured_gels(room_rh_pct, supplied):
    def days(points):
        return days_until(15.0, points, room_rh_pct=room_rh_pct, supplied=supplied)

    weak, middle, strong = (days([(row[0], row[column]) for row in TABLE]) for column in (1, 2, 3))
    gels = sorted(days(at_25_degc(gel)) for gel in FIVE)

    assert gels[1] < middle < gels[3]
    assert middle == pytest.approx(np.mean(gels), rel=0.03)
    assert weak < 1.05 * gels[0]
    assert strong > 0.95 * gels[-1]


def test_the_table_that_the_days_are_counted_on_is_what_the_gel_does():
    rh = np.array([0.06, 0.11, 0.16, 0.21, 0.33])  # between the points

    for column, gel in ((1, WEAK), (2, MIDDLE), (3, STRONG)):
        straight = np.interp(100.0 * rh, [row[0] for row in TABLE], [row[column] for row in TABLE])
        assert gel.uptake_kg_per_kg(rh, 25.0) == pytest.approx(straight, rel=0.01)


def test_the_default_is_the_middle_gel():
    assert NARROW_PORE_GEL.uptake_kg_per_kg(0.2, 25.0) == pytest.approx(0.1240)
    assert WEAK.uptake_kg_per_kg(0.2, 25.0) == pytest.approx(0.1104)
    assert STRONG.uptake_kg_per_kg(0.2, 25.0) == pytest.approx(0.1346)


@given(st.floats(8.0, 18.0))
def test_a_gel_that_was_weighed_at_20_rh_holds_what_was_weighed(water_pct):
    gel = narrow_pore_gel(water_pct)

    assert 100.0 * gel.uptake_kg_per_kg(0.2, 25.0) == pytest.approx(water_pct)


@given(st.floats(8.0, 17.9), st.floats(0.01, 0.9))
def test_more_water_at_20_rh_is_more_water_everywhere(water_pct, activity):
    more = narrow_pore_gel(water_pct + 0.1).uptake_kg_per_kg(activity, 18.0)

    assert more > narrow_pore_gel(water_pct).uptake_kg_per_kg(activity, 18.0)


@pytest.mark.parametrize("bad", [0.0, -1.0, 101.0, np.nan])
def test_water_that_no_gel_holds_is_refused(bad):
    with pytest.raises(ValueError, match="water_at_20_rh_pct must lie in"):
        narrow_pore_gel(bad)
