"""A packet's own resistance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simstore.physics.packet import (
    air_permeability_kg_per_m_s_pa,
    bed_depth_m,
    bed_permeability_kg_per_m_s_pa,
    packet_conductance_kg_per_s_pa,
)

PACKET = {
    "area_m2": 0.0225,
    "faces": 1,
    "perforation_pct": 2.0,
    "hole_mm": 1.0,
    "film_um": 50.0,
    "film_permeability_kg_per_m_s_pa": 4.66e-16,
    "bed_depth_m": 0.0127,
    "laid": "flat",
    "temp_c": 20.0,
}


def conductance(**changes):
    return packet_conductance_kg_per_s_pa(**(PACKET | changes))


def test_flat_is_at_least_twice_as_quick_as_heaped():
    assert conductance() > 2.0 * conductance(laid="heaped")


@given(st.floats(0.0, 99.0), st.floats(0.01, 1.0))
def test_more_perforation_is_quicker(perforation_pct, more):
    assert conductance(perforation_pct=perforation_pct + more) > conductance(perforation_pct=perforation_pct)


@given(st.floats(0.1, 5.0), st.floats(1.01, 4.0))
def test_many_small_holes_are_quicker_than_few_large_ones_of_the_same_open_share(hole_mm, larger):
    assert conductance(hole_mm=hole_mm) > conductance(hole_mm=hole_mm * larger)


@given(st.floats(1e-3, 0.1), st.floats(1.01, 3.0))
def test_a_deeper_bed_is_slower(depth, deeper):
    assert conductance(bed_depth_m=depth * deeper) < conductance(bed_depth_m=depth)


def test_two_open_faces_are_quicker_than_one():
    assert conductance(faces=2) > 2.0 * conductance(faces=1)


# Second route: Stefan's tube. A bed without film passes by diffusion over half its depth through a quarter of the free
# diffusivity (porosity 0.4 to the 1.5).
def test_a_bed_without_film_is_diffusion_over_half_its_depth():
    by_hand = 0.0225 * 2.419e-5 / (461.52 * 293.15) * 0.25298 / (0.0127 / 2.0)

    assert conductance(film_um=0.0) == pytest.approx(by_hand, rel=0.01)


# Source: Monteith and Unsworth 2008, section 11.4: resistance of a pore 4 (l + pi d/8)/(pi d2 D) with one end
# correction, so l + pi d/4 with both.
def test_one_hole_in_a_tight_film_has_the_resistance_of_a_pore():
    diameter, length, area = 2e-3, 50e-6, 1e-2
    share_pct = 100.0 * np.pi * diameter**2 / 4.0 / area
    pore = 4.0 * (length + np.pi * diameter / 4.0) / (np.pi * diameter**2 * air_permeability_kg_per_m_s_pa(20.0))

    assert conductance(
        area_m2=area, perforation_pct=share_pct, hole_mm=2.0, film_permeability_kg_per_m_s_pa=0.0, bed_depth_m=0.0
    ) == pytest.approx(1.0 / pore)


def test_an_unperforated_packet_breathes_through_its_film_alone():
    assert conductance(perforation_pct=0.0, bed_depth_m=0.0) == pytest.approx(4.66e-16 * 0.0225 / 50e-6)


def test_an_unperforated_packet_in_tight_film_is_shut():
    assert conductance(perforation_pct=0.0, film_permeability_kg_per_m_s_pa=0.0) == 0.0


def test_laying_is_told_by_word_or_by_truth_value():
    words = conductance(laid=np.array(["flat", "heaped"]))

    assert words == pytest.approx(conductance(laid=np.array([False, True])))
    assert words.shape == (2,)


def test_packets_broadcast():
    assert conductance(temp_c=np.array([5.0, 20.0]), bed_depth_m=np.array([[0.01], [0.02], [0.03]])).shape == (3, 2)


def test_warm_air_is_quicker():
    assert conductance(temp_c=30.0) > conductance(temp_c=10.0)


def test_a_bed_hinders_vapour_to_about_a_quarter_of_free_air():
    assert bed_permeability_kg_per_m_s_pa(20.0) / air_permeability_kg_per_m_s_pa(20.0) == pytest.approx(
        0.253, abs=0.001
    )


def test_depth_is_mass_over_area_and_bulk_density():
    assert bed_depth_m(0.2, 0.0225, 700.0) == pytest.approx(0.0127, abs=5e-5)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"faces": 3}, "faces must lie"),
        ({"area_m2": 0.0}, "area_m2 must be above 0"),
        ({"perforation_pct": 101.0}, "perforation_pct must lie"),
        ({"hole_mm": 0.0}, "hole_mm must be above 0"),
        ({"film_um": -1.0}, "film_um must lie"),
        ({"film_permeability_kg_per_m_s_pa": -1.0}, "film_permeability_kg_per_m_s_pa must lie"),
        ({"bed_depth_m": -1.0}, "bed_depth_m must lie"),
        ({"laid": "upright"}, "laid must be 'flat' or 'heaped'.*got upright"),
        ({"temp_c": 300.0}, "temp_c must lie"),
    ],
)
def test_impossible_packets_are_refused(changes, message):
    with pytest.raises(ValueError, match=message):
        conductance(**changes)
