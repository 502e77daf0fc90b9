"""Rows that silently condemn a box are named before anything is simulated; sound stores hear nothing of it."""

from importlib.resources import files
from pathlib import Path

import pytest

from simstore.prose.cautions import bounded_gels, cobalt_gels, work_cautions
from simstore.scenario.reading.load import load_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TRAPS = ("packets = 0", "neither last_regenerated", "hazardous_disposal_per_kg is 0")


@pytest.fixture
def store(tmp_path):
    for name in ("scenario.toml", "register.csv"):
        (tmp_path / name).write_bytes((SCENARIOS / "tiny" / name).read_bytes())
    return tmp_path


def notes_with(store, name, old, new):
    text = (store / name).read_text(encoding="utf-8")
    assert old in text
    (store / name).write_text(text.replace(old, new), encoding="utf-8")
    return "\n".join(load_scenario(store).notes)


def test_a_row_without_packets_is_named(store):
    notes = notes_with(store, "register.csv", "B001,clip_box,iron,12,,,,,", "B001,clip_box,iron,12,,,,0,")
    assert "enclosure B001 has packets = 0 in the register: they are never filled" in notes


def test_rows_without_a_date_are_counted_and_named(store):
    notes = notes_with(store, "register.csv", "2025-11-04", "")
    assert "2 enclosures (B001, B002) have neither last_regenerated nor gel_water_pct" in notes


def test_cobalt_in_packets_with_no_price_for_its_waste_is_named(store):
    notes = notes_with(
        store, "scenario.toml", "[sorbents.narrow_pore_orange]\n",
        '[sorbents.narrow_pore_orange]\nindicator = "cobalt_blue"\nindicator_pct = 5\n',
    )  # fmt: skip
    assert "hazardous_disposal_per_kg is 0" in notes
    assert cobalt_gels(load_scenario(store).settings)


def test_a_cobalt_indicator_that_only_a_plan_reads_carries_its_hazard(store):
    cobalt = [name for name, one in load_scenario(store).settings.indicators.items() if one.hazard == "cobalt"]
    text = (
        (store / "scenario.toml")
        .read_text(encoding="utf-8")
        .replace('indicator = "strip_10"', f'indicator = "{cobalt[0]}"')
    )
    (store / "scenario.toml").write_text(text, encoding="utf-8")
    whole = load_scenario(store)

    assert cobalt_gels(whole.under("strip").settings) == [whole.settings.indicators[cobalt[0]].label]
    assert cobalt_gels(whole.under("quarterly").settings) == []


BATCH = '\n[[arrivals]]\narrives = 2026-05-01\nkind = "clip_box"\nmetal = "iron"\ncount = {}\n'


def with_arrivals(store, count, **changes):
    text = (store / "scenario.toml").read_text(encoding="utf-8")
    for old, new in changes.values():
        assert old in text
        text = text.replace(old, new)
    (store / "scenario.toml").write_text(text + BATCH.format(count), encoding="utf-8")
    return "\n".join(load_scenario(store).notes)


def test_new_finds_for_which_there_is_no_gel_are_named(store):
    notes = with_arrivals(store, 40, never=("reorder_point = 2\norder_quantity = 4\n", ""))
    assert "arrivals 1 (2026-05-01): 40 enclosures need 40 packets 'small'; 6 lie outside enclosures" in notes


def test_new_finds_whose_gel_is_ordered_are_not_named(store):
    assert "arrivals" not in with_arrivals(store, 40)


def test_a_gel_that_is_only_a_lower_bound_says_so_in_every_answer_until_it_has_a_table_of_its_own(store):
    text = (store / "scenario.toml").read_text(encoding="utf-8")
    wide = text.replace('sorbent = "narrow_pore_orange"', 'sorbent = "wide_pore"')
    (store / "scenario.toml").write_text(wide, encoding="utf-8")
    settings = load_scenario(store).settings
    (caution,) = [one for one in work_cautions(settings, heats=True, handles=True) if one.action == "Wide-range gel"]
    assert "the least that a standard accepts" in caution.text
    assert "wide-pore (type B) silica gel" in caution.text

    own = '\n[sorbents.wide_pore.isotherm]\nform = "data_sheet"\nmeasured_at_c = 25.0\npoints = [[20.0, 0.05], [50.0, 0.2], [90.0, 0.7]]\n'
    (store / "scenario.toml").write_text(wide + own, encoding="utf-8")
    assert bounded_gels(load_scenario(store).settings) == []


@pytest.mark.parametrize("name", ["tiny", "river_depot", "starter"])
def test_stores_in_order_hear_nothing_of_it(name, tmp_path):
    folder = SCENARIOS / name
    if name == "starter":
        for item in files("simstore.scenario").joinpath("starter").iterdir():
            (tmp_path / item.name).write_bytes(item.read_bytes())
        folder = tmp_path
    notes = "\n".join(load_scenario(folder).notes)
    assert not any(trap in notes for trap in TRAPS)
