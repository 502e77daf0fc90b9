"""Every input is listed with where it comes from."""

import pytest

from simstore.results.origins import ASSUMED, MEASURED, NOTED, PRINTED, inputs_of
from simstore.results.reading import read_result_folder


@pytest.fixture(scope="module")
def inputs(results):
    return {one.key: one for one in inputs_of(read_result_folder(results))}


@pytest.mark.parametrize(
    ("key", "origin", "detail"),
    [
        ("technicians.anna.wage_per_h", NOTED, "quotation <i>of</i> 3 March"),
        ("ovens.small.cycle_h", MEASURED, "measured on 12 loads in 2025"),
        ("ovens.small.trays", ASSUMED, "line "),
        ("ovens.small.warm_up_min", ASSUMED, "the program's own value"),
        ("films.ldpe.permeability_kg_per_m_s_pa", PRINTED, "DIN 55474"),
        ("sorbents.narrow_pore_orange.price_per_kg", ASSUMED, "line "),
        ("sorbents.narrow_pore_orange.isotherm.water_at_20_rh_pct", PRINTED, "Wang & LeVan"),
        ("kinds.clip_box.layers.0.leak_per_day.median", ASSUMED, "line "),
    ],
)
def test_origin_of_an_input(inputs, key, origin, detail):
    assert inputs[key].origin == origin
    assert detail in inputs[key].detail


def test_a_line_that_is_named_holds_the_key(results, inputs):
    text = read_result_folder(results).text_of("scenario.toml").splitlines()
    for one in inputs.values():
        if one.origin == ASSUMED and one.detail.startswith("line "):
            assert (
                one.key.split(".")[-1] in text[int(one.detail.removeprefix("line ")) - 1]
                or "{" in text[int(one.detail.removeprefix("line ")) - 1]
            ), one


def test_built_in_entries_that_nothing_uses_are_not_inputs(inputs):
    assert not [key for key in inputs if key.startswith(("films.foil_laminate", "indicators.cobalt_blue"))]


def test_keys_of_other_rules_are_not_inputs_of_a_plan(inputs):
    assert "plans.quarterly.leak_quantile" not in inputs
    assert "plans.forecast.leak_quantile" in inputs
    assert "plans.strip.indicator" in inputs
    assert "plans.quarterly.indicator" not in inputs


def test_the_cadence_is_an_input_of_every_plan_whatever_its_rule(inputs):
    assert {"plans.quarterly.cadence_weeks", "plans.strip.cadence_weeks", "plans.forecast.cadence_weeks"} <= set(inputs)
