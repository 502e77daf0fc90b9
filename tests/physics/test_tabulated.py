"""An isotherm from a data sheet."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.curve_table import curve_table, curve_terms
from simstore.physics.narrow_pore import narrow_pore_gel
from simstore.physics.sorption import NARROW_PORE_GEL, Tabulated

# Source: JIS Z 0701-1977, table 3, least uptake of type B gel.
WIDE_RANGE = ([0.2, 0.5, 0.9], [0.03, 0.10, 0.50])


def test_the_curve_goes_through_its_points():
    table = Tabulated(25.0, *WIDE_RANGE)

    assert table.uptake_kg_per_kg(WIDE_RANGE[0], 25.0) == pytest.approx(WIDE_RANGE[1])
    assert table.activity(WIDE_RANGE[1], 25.0) == pytest.approx(WIDE_RANGE[0])


@given(
    st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.01, 1.0)), min_size=2, max_size=8),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_between_rising_points_the_curve_never_falls(steps, low, high):
    activity = np.cumsum([step for step, _ in steps])
    activity *= 0.95 / activity[-1]
    table = Tabulated(25.0, activity, np.cumsum([step for _, step in steps]))
    water = np.array(sorted((low, high))) * table.capacity_kg_per_kg
    drier, wetter = table.activity(water, 25.0)

    assert wetter >= drier - 1e-12


def test_a_table_made_from_an_isotherm_gives_it_back_at_other_temperatures():
    # Dubinin-Astakhov is a function of the potential alone, so carrying a table at constant potential must agree.
    activity = np.concatenate((np.linspace(0.005, 0.1, 40), np.linspace(0.11, 1.0, 90)))
    table = Tabulated(25.0, activity, NARROW_PORE_GEL.uptake_kg_per_kg(activity, 25.0))
    at = np.linspace(0.05, 0.9, 30)
    for temp_c in (5.0, 25.0, 40.0):
        assert table.uptake_kg_per_kg(at, temp_c) == pytest.approx(
            NARROW_PORE_GEL.uptake_kg_per_kg(at, temp_c), rel=3e-3
        )


def test_beyond_its_last_point_the_curve_goes_on_to_saturation():
    table = Tabulated(25.0, *WIDE_RANGE)

    assert table.capacity_kg_per_kg == pytest.approx(0.6)
    assert table.uptake_kg_per_kg(1.0, 25.0) == pytest.approx(0.6)


def test_a_table_that_reaches_saturation_ends_there():
    assert Tabulated(25.0, [0.5, 1.0], [0.2, 0.3]).capacity_kg_per_kg == 0.3


def test_below_its_first_point_the_curve_begins_at_the_origin():
    table = Tabulated(25.0, [0.4, 0.8], [0.2, 0.4])

    assert table.activity([0.0, 0.05, 0.1], 25.0) == pytest.approx([0.0, 0.1, 0.2])


def test_a_first_point_at_the_origin_is_allowed():
    with_origin = Tabulated(25.0, [0.0, *WIDE_RANGE[0]], [0.0, *WIDE_RANGE[1]])

    assert with_origin.activity(0.07, 25.0) == Tabulated(25.0, *WIDE_RANGE).activity(0.07, 25.0)


@pytest.mark.parametrize(
    ("activity", "water", "message"),
    [
        ([0.2, 0.5], [0.1], "two lists of one length"),
        ([[0.2, 0.5]], [[0.1, 0.2]], "two lists of one length"),
        ([0.2], [0.1], "at least 2 points"),
        ([0.0, 0.2], [0.0, 0.1], "at least 2 points"),
        ([0.2, 0.2], [0.1, 0.2], "must rise"),
        ([0.2, 0.5], [0.2, 0.1], "must rise"),
        ([0.2, 1.5], [0.1, 0.2], "must rise"),
        ([0.2, np.nan], [0.1, 0.2], "must rise"),
        ([0.2, 0.5], [0.1, np.inf], "must rise"),
        ([-0.2, 0.5], [0.1, 0.2], "must rise"),
    ],
)
def test_a_table_that_is_no_isotherm_is_refused(activity, water, message):
    with pytest.raises(ValueError, match=message):
        Tabulated(25.0, activity, water)


def test_a_table_measured_at_an_impossible_temperature_is_refused():
    with pytest.raises(ValueError, match="temp_c must lie in"):
        Tabulated(2500.0, *WIDE_RANGE)


@pytest.mark.parametrize("q", [0.001, 0.05, 0.2, 0.41, 0.4271, 0.43, 0.5, 1.0])
def test_the_step_reads_a_table_as_its_isotherm_does_and_goes_on_rising_beyond_its_end(q):
    gel = narrow_pore_gel()
    forms, knots = curve_table([gel])
    inverse_k, ln_psat = 1.0 / 293.15, math.log(2339.19)

    ln_h, by_k, _, by_q = curve_terms(forms[0], knots, q, inverse_k, ln_psat)

    if q < 0.427:
        theirs = [float(each) for each in gel.log_activity_terms(np.array(q), 20.0)]
        assert [ln_h, by_k, by_q] == pytest.approx(theirs, rel=1e-9)
    if q > 0.4272:
        assert ln_h > 0.0
        assert ln_h > curve_terms(forms[0], knots, q - 1e-3, inverse_k, ln_psat)[0]
    assert by_q > 0.0
