"""The tiny store and variants of it."""

from pathlib import Path

import pytest

from simstore.scenario.reading.load import load_scenario

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
BAGS = """
[programmes.bags_only]
label = "all in bags"
replace = { clip_box = "triple_bag" }
rehouse_min = 12

[plans.boxes]
label = "all in boxes"
rule = "calendar"
cadence_weeks = 30
programme = "boxes_only"

[plans.bags]
label = "all in bags"
rule = "calendar"
cadence_weeks = 30
programme = "bags_only"
"""


@pytest.fixture(scope="session")
def tiny():
    return load_scenario(TINY)


@pytest.fixture(scope="session")
def tiny_with_bags(tmp_path_factory):
    """The tiny store with exchanges so rare that some enclosures go over, under two programmes."""
    folder = tmp_path_factory.mktemp("tiny")
    text = (TINY / "scenario.toml").read_text() + BAGS
    (folder / "scenario.toml").write_text(text)
    (folder / "register.csv").write_text((TINY / "register.csv").read_text())
    return load_scenario(folder, changes={"kinds.clip_box.unit_price": 9.5, "kinds.triple_bag.unit_price": 1.8})
