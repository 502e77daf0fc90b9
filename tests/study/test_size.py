"""How much gel: enough in the worst season, less is not, and the rules beside it are what their sources say."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from reference_pages import STUDY_TABLES

from simstore.physics.air import vapour_content_g_per_m3
from simstore.questions.store import Store, load
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.values.fields import Lognormal
from simstore.sim.opening import open_site
from simstore.study.rota.expected import expected
from simstore.study.size.need import sizes_of

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def leaky(median):
    tiny = load_scenario(TINY)
    kind = tiny.settings.kinds["clip_box"]
    (layer,) = kind.layers
    worse = layer.model_copy(update={"leak_per_day": Lognormal(median=median, sigma_ln=0.7)})
    kinds = {**tiny.settings.kinds, "clip_box": kind.model_copy(update={"layers": (worse,)})}
    return replace(tiny, settings=tiny.settings.model_copy(update={"kinds": kinds}))


def needs(scenario, weeks):
    return {(one.kind, one.metal): one for one in sizes_of(scenario, "quarterly", weeks=weeks).needs}


def test_more_leak_a_longer_interval_and_a_lower_ceiling_need_more_gel():
    usual, worse, longer = needs(leaky(15.0), 13), needs(leaky(30.0), 13), needs(leaky(15.0), 26)
    iron, copper = ("clip_box", "iron"), ("clip_box", "copper")
    assert usual[iron].leaky_packets < worse[iron].leaky_packets
    assert usual[iron].leaky_packets < longer[iron].leaky_packets
    assert usual[iron].leaky_packets > usual[copper].leaky_packets
    assert usual[iron].middle_packets <= usual[iron].leaky_packets


def test_water_comes_in_by_the_leak_so_that_twice_the_interval_needs_about_twice_the_gel():
    """First-order balance: gel x capacity = leak x vapour x time, exact where the gel's air stays far from the room's."""
    once, twice = needs(leaky(60.0), 26), needs(leaky(60.0), 52)
    kilograms = [one[("clip_box", "iron")].leaky_packets for one in (once, twice)]
    assert kilograms[1] / kilograms[0] == pytest.approx(2.0, rel=0.25)  # the worst half year is damper than the year


def test_the_number_of_packets_is_enough_in_a_store_that_leaks_so_and_one_less_is_not():
    scenario, weeks = leaky(20.0), 20
    need = needs(scenario, weeks)[("clip_box", "iron")]
    own = next(each for each in scenario.enclosures if each.kind == "clip_box" and each.metal == "iron")

    def lasts(packets):
        one = own.model_copy(update={"packets": packets, "volume_m3": None, "empty_m3": None, "leak_per_day": None})
        store = expected(
            replace(scenario, enclosures=(one,)), "quarterly", first=scenario.settings.start, days=1100, deviate=1.645
        )
        site = open_site(store, "quarterly", 0)
        gel = packets * 0.25
        return min(
            site.outlook.due_day(site.rows[0], site.walls.rows[0], gel_kg=gel, water_kg=0.02 * gel, from_day=start, rh=0.15) - start
            for start in (0.0, 91.0, 182.0, 274.0)
        )  # fmt: skip

    assert lasts(need.leaky_packets) >= 7 * weeks > lasts(need.leaky_packets - 1)


def test_the_rules_beside_it_by_hand():
    """A third of the empty space (common practice, no source); Q = Ceq D V N t / (M_H F), Tetreault and Begin 2018."""
    tiny = load_scenario(TINY)
    one = needs(tiny, 13)[("clip_box", "copper")]
    gel = tiny.settings.sorbents["narrow_pore_orange"]
    assert one.third_kg == pytest.approx(0.003 * gel.bulk_kg_per_m3 / 3.0)
    drive = float(vapour_content_g_per_m3(16.0, 100.0)) * (58.0 - 19.0) / 100.0  # the room's means, half the ceiling
    air_g = drive * 0.003 * 1.5 * 91
    # the gel takes up about 20 % of its mass on the way from 2 to 38 %RH (narrow-pore gels at 38 %RH hold 21 to 24 %)
    assert one.formula_kg == pytest.approx(air_g / 1000 / 0.205, rel=0.12)


def test_what_does_not_fit_or_never_lasts_is_said():
    words = Store(leaky(900.0)).size(weeks=100).words
    assert "not even 200 packets last" in words or "there is room for" in words
    assert "hold too little gel" in words


def test_the_answer_has_its_table_and_cautions(tmp_path):
    answer = load(TINY).size("quarterly", weeks=26)
    assert set(answer.tables) == {name for command, name, _ in STUDY_TABLES if command == "size"}
    assert "Cautions" in answer.words
    table = answer.tables["sizes"]
    assert len(table) == 4
    assert (table["leaky_packets"] >= table["middle_packets"]).all()
    assert not any(math.isinf(value) for value in table["lasts_weeks"].dropna())
    answer.save(tmp_path / "sizes")
