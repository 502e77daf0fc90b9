"""Invented stores for the tests of the simulation."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from simstore.scenario.reading.load import load_scenario, scenario_from_toml_text
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.plan import Scalar
from simstore.sim.record import RunRecord
from simstore.sim.run import simulate

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"

PACKETS = """
# Sapienza et al. 2017, Renewable Energy 110:40: a formula that other models of the tests have too.
[sorbents.narrow_pore.isotherm]
form = "dubinin_astakhov"
capacity_kg_per_kg = 0.38
energy_j_per_mol = 3962.2
exponent = 1.1

[packets.small]
label = "perforated bag, 0.25 kg"
sorbent = "narrow_pore"
gel_kg = 0.25

[packets.five_grams]
label = "sachet, 5 g"
sorbent = "narrow_pore"
gel_kg = 0.005
area_m2 = 0.0016

[packets.half_gram]
label = "sachet, 0.5 g"
sorbent = "narrow_pore"
gel_kg = 0.0005
area_m2 = 0.0004

[packets.closed]
label = "bag with hardly a hole, heaped, 0.2 kg"
sorbent = "narrow_pore"
gel_kg = 0.2
faces = 1
perforation_pct = 0.001
laid = "heaped"
"""

KINDS = """
[kinds.box]
label = "box"
form = "box"
volume_m3 = 0.005
packet = "small"

[[kinds.box.layers]]
film = "polypropylene"
thickness_um = 1200
area_m2 = 0.18
leak_per_day = 1.5

[kinds.triple_bag]
label = "triple bag"
form = "bag"
volume_m3 = 0.004
packet = "small"
packets = 2

[[kinds.triple_bag.layers]]
film = "ldpe"
thickness_um = 100
area_m2 = 0.30
leak_per_day = 4.0
gap_m3 = 0.0012

[[kinds.triple_bag.layers]]
film = "foil_laminate"
thickness_um = 100
area_m2 = 0.27
leak_per_day = 2.0
gap_m3 = 0.0005

[[kinds.triple_bag.layers]]
film = "ldpe"
thickness_um = 50
area_m2 = 0.24
leak_per_day = 6.0

[kinds.bare_bag]
label = "one thin bag without a hole in its seal"
form = "bag"
volume_m3 = 0.003
packet = "five_grams"

[[kinds.bare_bag.layers]]
film = "ldpe"
thickness_um = 40
area_m2 = 0.2
leak_per_day = 0.02

[kinds.padded_box]
label = "box full of felt"
form = "box"
volume_m3 = 0.02
packet = "small"
packing_g_per_pct = 4.0

[[kinds.padded_box.layers]]
film = "polypropylene"
thickness_um = 1500
area_m2 = 0.45
leak_per_day = 3.0
"""

HEAD = """
title = "Test store"
note = "Invented data."
start = 2026-01-01
default_plan = "idle"

[metals.iron]
label = "iron"
ceiling_rh_pct = 15.0

[plans.idle]
label = "nobody comes"
rule = "calendar"
cadence_weeks = 500
"""

BOX = Enclosure(id="box", kind="box", metal="iron", gel_water_pct=2.0)


PEOPLE = """
[technicians.anna]
sessions = ["Tue 09:00-12:30", "Thu 13:00-16:30"]
"""
CLIMATE = """
[climate]
temp_noise_c = 0.0
rh_noise_pct = 0.0
"""


def store(
    text: str = PEOPLE + CLIMATE,
    enclosures: tuple[Enclosure, ...] = (BOX,),
    changes: Mapping[str, Scalar] | None = None,
) -> Scenario:
    """Build a scenario of the kinds above from further TOML text, rows of a register and changed keys."""
    one_box = '[[groups]]\nkind = "box"\nmetal = "iron"\ncount = 1\n'
    made = scenario_from_toml_text(HEAD + text + KINDS + PACKETS + one_box).with_changes(changes or {})
    return replace(made, settings=made.settings.model_copy(update={"groups": ()}), enclosures=enclosures)


@functools.cache
def written(name: str) -> Scenario:
    """Read one of the scenarios of the repository."""
    return load_scenario(SCENARIOS / name)


@functools.cache
def lived(name: str, plan: str, replication: int = 0) -> RunRecord:
    """Simulate a plan of a scenario of the repository once; nobody changes the record."""
    return simulate(written(name), plan, replication)
