"""Every kind of bad input gives one error that names file, line, key, value and cure.

Each case changes one place of the good scenario in ``scenarios/tiny`` by text, so that the expected line is found by
searching the changed text and not by the reader under test.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from simstore.errors import SimstoreError
from simstore.scenario.reading.load import load_scenario

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
T, R = "scenario.toml", "register.csv"


@dataclass(frozen=True)
class Case:
    """One slip: ``old`` becomes ``new`` in ``file``; the message stands at the line of ``at`` and holds all of ``says``."""

    name: str
    old: str
    new: str
    says: tuple[str, ...]
    file: str = T
    at: str | None = None
    no_line: bool = False


TOML_CASES = [
    Case("misspelt key", "seed = 7", "sead = 7", ("sead = 7: unknown key; did you mean 'seed'?",)),
    Case("misspelt key in a table", "trays = 4", "tray = 4", ("ovens.small.tray = 4: unknown key; did you mean 'trays'?",)),
    Case("misspelt section name", "[climate]", "[climat]", ("climat", "unknown key; did you mean 'climate'?")),
    Case("key of another table", "cycle_h = 7", "cycle_h = 7\nready = 3", ("ovens.small.ready = 3: unknown key",), at="ready = 3"),
    Case("missing title", 'title = "Tiny store"\n', "", ("title: is missing; add title = ... at the top",), no_line=True),
    Case("missing key in a table", "trays = 4\n", "", ("ovens.small.trays: is missing; add trays = ... to [ovens.small]",), at="[ovens.small]"),
    Case("missing section", "[metals.iron]", "[minerals.iron]", ("minerals", "did you mean 'metals'?"), at="[minerals.iron]"),
    Case("empty title", 'title = "Tiny store"', 'title = ""', ('title = "": is empty; give a text',)),
    Case("very long title", 'title = "Tiny store"', f'title = "{"x" * 121}"', ("title", "longer than 120 characters; shorten it")),
    Case("number in quotes", "set_c = 104", 'set_c = "104"', ('ovens.small.set_c = "104": is text, must be a number; write it without quotes',)),
    Case("decimal comma in quotes", "gel_kg = 0.25", 'gel_kg = "0,25"', ("packets.small.gel_kg", "write 0.25 without quotes")),
    Case("unit in quotes", "cycle_h = 7", 'cycle_h = "7 h"', ("ovens.small.cycle_h", "the unit is in the key's name")),
    Case("decimal comma without quotes", "gel_kg = 0.25", "gel_kg = 0,25", ("gel_kg = 0,25: is not TOML", "1.5, not 1,5")),
    Case("truth for a number", "cycle_h = 7", "cycle_h = true", ("cycle_h = true: must be a number; give a number, not true or false",)),
    Case("fraction for a count", "trays = 4", "trays = 4.5", ("ovens.small.trays = 4.5: must be a whole number",)),
    Case("number for text", 'title = "Tiny store"', "title = 5", ('title = 5: must be text in double quotes; write "5"',)),
    Case("text for truth", "cycle_h = 7", 'cycle_h = 7\nattended = "yes"', ('ovens.small.attended = "yes"', "write true or false without quotes"), at="attended"),
    Case("date in quotes", "start = 2026-01-01", 'start = "2026-01-01"', ("start", "must be a date", "write it as 2026-01-31 without quotes")),
    Case("date with a time", "start = 2026-01-01", "start = 2026-01-01T08:00:00", ("start = 2026-01-01 08:00:00: must be a date",)),
    Case("day that does not exist", "start = 2026-01-01", "start = 2026-02-30", ("is not TOML",)),
    Case("number for a table", "[climate]\n", "climate = 5\n[climatic]\n", ("climate = 5: must be a table; write a table [climate]",), at="climate = 5"),
    Case("text for a list", 'sessions = ["Tue 09:00-12:30", "Thu 13:00-16:30"]', 'sessions = "Tue 09:00-12:30"', ("technicians.anna.sessions", "must be a list", 'write ["Tue 09:00-12:30"]')),
    Case("one day of leave", "leave = [[2026-08-03, 2026-08-14]]", "leave = [[2026-08-03]]", ("technicians.anna.leave.0 = [2026-08-03]: has too few parts",)),
    Case("three days of leave", "leave = [[2026-08-03, 2026-08-14]]", "leave = [[2026-08-03, 2026-08-14, 2026-08-15]]", ("technicians.anna.leave.0", "3 parts, at most 2")),
    Case("infinity", "cycle_h = 7", "cycle_h = inf", ("ovens.small.cycle_h = inf",)),
    Case("not a number", "rh_mean_pct = 58.0", "rh_mean_pct = nan", ("climate.rh_mean_pct = nan: is not a finite number",)),
    Case("negative kilograms", "gel_kg = 0.25", "gel_kg = -0.25", ("packets.small.gel_kg = -0.25: must be 0.0001..50 kg; a gram is 0.001 kg",)),
    Case("grams for kilograms", "gel_kg = 0.25", "gel_kg = 250", ("packets.small.gel_kg = 250: must be 0.0001..50 kg",)),
    Case("litres for cubic metres", "volume_m3 = 0.005", "volume_m3 = 50", ("kinds.clip_box.volume_m3 = 50", "a litre is 0.001 m3")),
    Case("humidity above 100", "ceiling_rh_pct = 15.0", "ceiling_rh_pct = 150", ("metals.iron.ceiling_rh_pct = 150: must be above 0 to 100 %",)),
    Case("negative price", "unit_price = 0.4", "unit_price = -0.4", ("packets.small.unit_price = -0.4: must be 0..10000000",)),
    Case("negative seed", "seed = 7", "seed = -7", ("seed = -7: must be 0..",)),
    Case("no years", "years = 1", "years = 0", ("years = 0: must be 1..30 years",)),
    Case("negative leak", "leak_per_day = { median = 1.5, sigma_ln = 0.7 }", "leak_per_day = -1.5", ("kinds.clip_box.layers.0.leak_per_day = -1.5: must be above 0 to 1000 per day",)),
    Case("negative median", "{ median = 1.5, sigma_ln = 0.7 }", "{ median = -1.5, sigma_ln = 0.7 }", ("layers.0.leak_per_day.median = -1.5: must be above 0",), at="median = -1.5"),
    Case("half a distribution", "{ median = 1.5, sigma_ln = 0.7 }", "{ median = 1.5 }", ("layers.0.leak_per_day.sigma_ln: is missing",), at="{ median = 1.5 }"),
    Case("misspelt distribution", "{ median = 1.5, sigma_ln = 0.7 }", "{ median = 1.5, sigma = 0.7 }", ("layers.0.leak_per_day.sigma = 0.7: unknown key; did you mean 'sigma_ln'?",), at="sigma = 0.7"),
    Case("misspelt choice", 'cooling = "in_oven"', 'cooling = "in oven"', ("ovens.small.cooling = \"in oven\": must be one of", "did you mean 'in_oven'?")),
    Case("misspelt rule", 'rule = "forecast"', 'rule = "forcast"', ("plans.forecast.rule", "did you mean 'forecast'?")),
    Case("wrong number of faces", "gel_kg = 0.25", "gel_kg = 0.25\nfaces = 3", ("packets.small.faces = 3: must be one of: 1 or 2",), at="faces = 3"),
    Case("no layers", "[[kinds.clip_box.layers]]", "[[kinds.clip_box.layer]]", ("kinds.clip_box.layer ", "did you mean 'layers'?")),
    Case("key stands twice", "seed = 7", "seed = 7\nseed = 8", ("is not TOML", "stands twice; keep one"), at="seed = 8"),
    Case("table opened twice", "[stock.small]", "[ovens.small]\n\n[stock.small]", ("is not TOML", "stands twice; keep one"), at="[ovens.small]\n\n"),
    Case("no quotes", 'default_plan = "quarterly"', "default_plan = quarterly", ("default_plan = quarterly: is not TOML", "text in double quotes")),
    Case("open bracket", "holidays = [2026-12-25]", "holidays = [2026-12-25", ("is not TOML",), at="[climate]"),
    # references
    Case("unknown default plan", 'default_plan = "quarterly"', 'default_plan = "quaterly"', ("default_plan", "there is no [plans.quaterly]; did you mean 'quarterly'?")),
    Case("unknown film", 'film = "polypropylene"', 'film = "polyproylene"', ("kinds.clip_box.layers.0.film", "did you mean 'polypropylene'?")),
    Case("unknown packet of a kind", 'volume_m3 = 0.005\npacket = "small"', 'volume_m3 = 0.005\npacket = "smal"', ("kinds.clip_box.packet", "did you mean 'small'?"), at='packet = "smal"'),
    Case("unknown sorbent", 'sorbent = "narrow_pore_orange"', 'sorbent = "narrow_poor"', ("packets.small.sorbent", "did you mean 'narrow_pore'?")),
    Case("unknown indicator of a sorbent", "price_per_kg = 12.0", 'price_per_kg = 12.0\nindicator = "oranje"', ("sorbents.narrow_pore_orange.indicator", "did you mean 'orange'?"), at='indicator = "oranje"'),
    Case("unknown indicator of a plan", 'indicator = "strip_10"', 'indicator = "strip_11"', ("plans.strip.indicator", "did you mean 'strip_")),
    Case("unknown programme", 'programme = "boxes_only"', 'programme = "box_only"', ("plans.forecast.programme", "did you mean 'boxes_only'?")),
    Case("programme for an unknown kind", "replace = { triple_bag", "replace = { tripel_bag", ("programmes.boxes_only.replace.tripel_bag", "did you mean 'triple_bag'?")),
    Case("programme into an unknown kind", '= "clip_box" }', '= "klip_box" }', ("programmes.boxes_only.replace.triple_bag", "did you mean 'clip_box'?"), at='"klip_box"'),
    Case("cadence for an unknown metal", "cadence_weeks = { iron = 8, copper = 26 }", "cadence_weeks = { iron = 8, copper = 26, lead = 9 }", ("plans.by_metal.cadence_weeks.lead", "there is no [metals.lead]"), at="lead = 9"),
    Case("no cadence for a metal", "cadence_weeks = { iron = 8, copper = 26 }", "cadence_weeks = { iron = 8 }", ("plans.by_metal.cadence_weeks", "says nothing about 'copper'; add copper = 13")),
    Case("negative cadence for a metal", "{ iron = 8, copper = 26 }", "{ iron = -8, copper = 26 }", ("plans.by_metal.cadence_weeks.iron = -8: must be above 0",), at="iron = -8"),
    Case("negative cadence", 'label = "every 13 weeks"\nrule = "calendar"\ncadence_weeks = 13', 'label = "every 13 weeks"\nrule = "calendar"\ncadence_weeks = -13', ("plans.quarterly.cadence_weeks = -13: must be above 0 to 1000 weeks",), at="cadence_weeks = -13"),
    Case("stock of an unknown packet", "[stock.small]", "[stock.tiny]", ("stock.tiny", "there is no [packets.tiny]")),
    Case("register that does not exist", 'register = "register.csv"', 'register = "regster.csv"', ('register = "regster.csv": there is no such file',)),
    Case("register that is a folder", 'register = "register.csv"', 'register = "."', ('register = ".": is a folder, not a file',)),
    Case("neither register nor groups", 'register = "register.csv"\n', "", ("register: is missing and there are no groups",), no_line=True),
    # the room
    Case("logger without a file", 'source = "seasonal"', 'source = "logger"', ('climate.file: is missing, and source = "logger" needs it',), at="[climate]"),
    Case("file that is not read", 'source = "seasonal"', 'source = "seasonal"\nfile = "room.csv"', ("climate.file", "is not read while source"), at='file = "room.csv"'),
    Case("climate file that does not exist", 'source = "seasonal"', 'source = "logger"\nfile = "room.csv"', ('climate.file = "room.csv": there is no such file',), at='file = "room.csv"'),
    Case("years drawn from none", 'source = "seasonal"', 'source = "seasonal"\nresample_years = true', ("climate.resample_years = true: needs measured years",), at="resample_years"),
    Case("dehumidifier without capacity", "[metals.iron]", "[climate.room]\nvolume_m3 = 200\ndehumidify_to_pct = 45\n\n[metals.iron]", ("climate.room.dehumidifier_kg_per_day = 0: is 0, but dehumidify_to_pct is 45",), at="[climate.room]"),
    Case("humidifier against dehumidifier", "[metals.iron]", "[climate.room]\nvolume_m3 = 200\nhumidify_to_pct = 50\ndehumidify_to_pct = 45\ndehumidifier_kg_per_day = 5\n\n[metals.iron]", ("climate.room.humidify_to_pct = 50: must be below dehumidify_to_pct, 45 %RH",), at="humidify_to_pct = 50"),
    # people
    Case("session without a day", '"Tue 09:00-12:30"', '"09:00-12:30"', ("technicians.anna.sessions.0", "is not a session", 'write it as "Tue 09:00-12:30"'), at='"09:00-12:30"'),
    Case("session on no weekday", '"Tue 09:00-12:30"', '"Tew 09:00-12:30"', ("technicians.anna.sessions.0", "'Tew' is not a weekday"), at="Tew"),
    Case("session at no time", '"Tue 09:00-12:30"', '"Tue 09:70-12:30"', ("technicians.anna.sessions.0", "09:70 is not a time of day"), at="09:70"),
    Case("session backwards", '"Tue 09:00-12:30"', '"Tue 12:30-09:00"', ("technicians.anna.sessions.0", "ends before it starts"), at="Tue 12:30"),
    Case("sessions that overlap", '"Thu 13:00-16:30"]', '"Tue 12:00-16:30"]', ('technicians.anna.sessions = "Tue 12:00-16:30": overlaps "Tue 09:00-12:30" on Tue',), at="Tue 12:00"),
    Case("no sessions", 'sessions = ["Tue 09:00-12:30", "Thu 13:00-16:30"]', "sessions = []", ("technicians.anna.sessions = []: is empty: this person never works",)),
    Case("leave backwards", "[[2026-08-03, 2026-08-14]]", "[[2026-08-14, 2026-08-03]]", ("technicians.anna.leave.0", "swap the two days"), at="[[2026-08-14"),
    Case("leave twice", "[[2026-08-03, 2026-08-14]]", "[[2026-08-03, 2026-08-14], [2026-08-10, 2026-08-20]]", ("technicians.anna.leave", "begins before the one to 2026-08-14 ends"), at="[2026-08-10"),
    Case("holiday twice", "holidays = [2026-12-25]", "holidays = [2026-12-25, 2026-12-25]", ("holidays = 2026-12-25: stands 2 times; keep one",)),
    Case("task longer than any session", "[stock.small]", "[tasks]\nexchange_min = 600\n\n[stock.small]", ("tasks.exchange_min", "the longest session is 210 min: never done"), at="exchange_min = 600"),
    # ovens and gel
    Case("oven hotter than the indicator bears", "set_c = 104", "set_c = 140", ("ovens.small.set_c = 140: is hotter than", "125 degC: heating destroys it", "data sheet")),
    Case("oven hotter than cobalt bears", "price_per_kg = 12.0\n", 'price_per_kg = 12.0\nindicator = "cobalt_blue"\n\n[indicators.cobalt_blue]\nmax_c = 100\n', ("ovens.small.set_c = 104", "cobalt dichloride, a carcinogen"), at="set_c = 104"),
    Case("packet larger than any oven", "tray_area_m2 = 0.16", "tray_area_m2 = 0.004", ("packets.small.gel_kg = 0.25: does not fit into any oven",), at="gel_kg = 0.25"),
    Case("attended oven that nobody can attend", "cycle_h = 7", "cycle_h = 7\nattended = true", ("ovens.small.attended = true: needs somebody for 465 min", "the longest attendance is 210 min"), at="attended = true"),
    Case("order of nothing", "order_quantity = 4", "order_quantity = 0", ("stock.small.order_quantity = 0: is 0, but reorder_point is 2",)),
    Case("gap missing between bags", "gap_m3 = 0.0005\n\n[[kinds.triple_bag.layers]]\nfilm = \"ldpe\"\nthickness_um = 100\narea_m2 = 0.30\nleak_per_day = { median = 3.0, sigma_ln = 0.7 }\ngap_m3 = 0.0005", "gap_m3 = 0.0005\n\n[[kinds.triple_bag.layers]] # here\nfilm = \"ldpe\"\nthickness_um = 100\narea_m2 = 0.30\nleak_per_day = { median = 3.0, sigma_ln = 0.7 }", ("kinds.triple_bag.layers.1.gap_m3: is missing",), at="# here"),
    Case("gap inside the innermost layer", "leak_per_day = { median = 1.5, sigma_ln = 0.7 }", "leak_per_day = { median = 1.5, sigma_ln = 0.7 }\ngap_m3 = 0.001", ("kinds.clip_box.layers.0.gap_m3 = 0.001: the innermost layer", "leave it out"), at="gap_m3 = 0.001"),
    Case("gap in litres", "gap_m3 = 0.0005", "gap_m3 = 0.5", ("kinds.triple_bag.layers.", "gap_m3 = 0.5", "divide by 1000: 0.0005")),
    Case("more gel than room", 'volume_m3 = 0.005\npacket = "small"\npackets = 1', 'volume_m3 = 0.005\npacket = "small"\npackets = 20', ("kinds.clip_box.packets = 20", "the enclosure has 0.005 m3"), at="packets = 20"),
    Case("closed packet", "gel_kg = 0.25", "gel_kg = 0.25\nperforation_pct = 0", ("packets.small.perforation_pct = 0: nothing gets into a closed packet",), at="perforation_pct = 0"),
    Case("indicator turned round", "[stock.small]", "[indicators.strip_10]\nstarts_rh_pct = 30\n\n[stock.small]", ("indicators.strip_10.ends_rh_pct", "must be above starts_rh_pct, 30 %RH"), at="[indicators.strip_10]"),
    Case("isotherm without a form", "price_per_kg = 12.0", "price_per_kg = 12.0\nisotherm = { capacity_kg_per_kg = 0.4 }", ("sorbents.narrow_pore_orange.isotherm.form: is missing; add form",), at="isotherm = {"),
    Case("isotherm of an unknown form", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "thot" }', ("sorbents.narrow_pore_orange.isotherm.form", "did you mean 'toth'?"), at="isotherm = {"),
    Case("isotherm with a wrong key", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "dubinin_astakhov", capacity_kg_per_kg = 0.4, energy_j_per_mol = 4000, exponet = 1.1 }', ("isotherm.exponet = 1.1: unknown key; did you mean 'exponent'?",), at="isotherm = {"),
    Case("data sheet that does not rise", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "data_sheet", points = [[20, 0.1], [10, 0.2], [50, 0.3]] }', ("isotherm.points.1", "%RH must rise from point to point, 10 follows 20"), at="isotherm = {"),
    Case("data sheet in per cent", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "data_sheet", points = [[20, 10], [40, 20], [50, 30]] }', ("isotherm.points", "give kg per kg: 25 % is 0.25"), at="isotherm = {"),
    Case("energy in kilojoules", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "dubinin_astakhov", capacity_kg_per_kg = 0.38, energy_j_per_mol = 3.96, exponent = 1.1 }', ("isotherm.energy_j_per_mol = 3.96: must be 500..50000",), at="isotherm = {"),
    Case("capacity in per cent", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "dubinin_astakhov", capacity_kg_per_kg = 38, energy_j_per_mol = 3962, exponent = 1.1 }', ("isotherm.capacity_kg_per_kg = 38: must be 0.01..5",), at="isotherm = {"),
    Case("all gel lost at once", "price_per_kg = 12.0", "price_per_kg = 12.0\nloss_per_cycle_pct = 100", ("loss_per_cycle_pct = 100: must be 0..50",), at="loss_per_cycle_pct"),
    Case("more packets than anybody has", "ready = 6", "ready = 100000000", ("stock.small.ready = 100000000: must be 0..100000",)),
    Case("a price without end", "unit_price = 0.4", "unit_price = 1e308", ("packets.small.unit_price", "must be 0..10000000")),
    Case("winter of the moon", "temp_mean_c = 16.0\ntemp_swing_c = 4.0", "temp_mean_c = -20.0\ntemp_swing_c = 30.0", ("climate.temp_mean_c = -20: makes a winter of -50 degC",), at="temp_mean_c"),
    Case("before the calendar", "start = 2026-01-01", "start = 0001-01-01", ("start = 0001-01-01: must lie in the years 1900 to 2200",)),
    Case("constant printed for kPa", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "toth", k0_kg_per_kg_pa = 7.3e-10, heat_j_per_kg = 2.693e6, capacity_kg_per_kg = 0.45, exponent = 12 }', ("isotherm.k0_kg_per_kg_pa = 7.3e-10", "divide by 1000, 7.3e-13"), at="isotherm = {"),
    Case("reading without an indicator", 'cadence_weeks = 4\nindicator = "strip_10"', 'cadence_weeks = 4\n\n[sorbents.plain]\nlabel = "plain gel"\nisotherm = { form = "dubinin_astakhov", capacity_kg_per_kg = 0.38, energy_j_per_mol = 3962.2, exponent = 1.1 }\n\n[packets.plain]\nlabel = "plain"\nsorbent = "plain"\ngel_kg = 0.1\n\n[stock.plain]\nready = 1\n', ('plans.strip.rule = "reading"', "sorbent 'plain' has no indicator to read"), at='rule = "reading"'),
    Case("dot in a name", "[plans.quarterly]", '[plans."quarterly.x"]', ("plans.quarterly.x", "a name has 1 to 40 letters")),
    # plans' own changes
    Case("plan changes an unknown key", '"ovens.small.count" = 2', '"ovens.small.cuont" = 2', ("plans.two_ovens.changes.ovens.small.cuont = 2: unknown key 'cuont'; did you mean 'count'?",)),
    Case("plan changes an unknown oven", '"ovens.small.count" = 2', '"ovens.smal.count" = 2', ("there is no 'smal' in [ovens]; did you mean 'small'?",)),
    Case("plan changes to a wrong value", '"ovens.small.count" = 2', '"ovens.small.count" = -2', ("plans.two_ovens.changes.ovens.small.count = -2: must be 0..50",)),
    Case("plan changes to text", '"ovens.small.count" = 2', '"ovens.small.count" = "two"', ("plans.two_ovens.changes.ovens.small.count", "is text, must be a whole number")),
    Case("plan changes the seed", '"ovens.small.count" = 2', '"seed" = 2', ("plans.two_ovens.changes.seed = 2: cannot be changed by a plan", "share their luck")),
    Case("plan changes a whole table", '"ovens.small.count" = 2', '"ovens.small" = "x"', ("plans.two_ovens.changes.ovens.small", "names a table, not one value")),
    Case("plan breaks a cross check", '"ovens.small.count" = 2', '"ovens.small.set_c" = 180', ("plans.two_ovens.changes.ovens.small.set_c = 180: is hotter than",)),
    Case("plan breaks something elsewhere", '"ovens.small.count" = 2', '"ovens.small.tray_area_m2" = 0.001', ("plans.two_ovens.changes", "makes packets.small.gel_kg wrong: does not fit into any oven"), at="[plans.two_ovens.changes]"),
    Case("plan changes unquoted keys", '"ovens.small.count" = 2', "ovens.small.cuont = 2", ("plans.two_ovens.changes.ovens.small.cuont = 2: unknown key 'cuont'",)),
    Case("plan changes to a list", '"ovens.small.count" = 2', '"ovens.small.count" = [2]', ("plans.two_ovens.changes.ovens.small.count = [2]",)),
    Case("nobody at all", "[technicians.anna]", "[technicans.anna]", ("technicans", "did you mean 'technicians'?")),
    Case("nobody", 'sessions = ["Tue 09:00-12:30", "Thu 13:00-16:30"]\nwage_per_h = 24.0\nleave = [[2026-08-03, 2026-08-14]]', "", ("technicians.anna.sessions: is missing; add sessions",), at="[technicians.anna]"),
    Case("reserved programme", "[programmes.boxes_only]", "[programmes.as_registered]", ("programmes.as_registered.replace", "cannot replace kinds; give the programme another name"), at="replace = {"),
    Case("watched enclosure that is none", "seed = 7", 'seed = 7\nwatch = ["B001", "B099"]', ("watch.1 = \"B099\": is not the id of an enclosure; enclosures of the scenario: B001",), at="watch ="),
    Case("name of a group with a slash", "[programmes.boxes_only]", '[[groups]]\nname = "iron/box"\nkind = "clip_box"\nmetal = "iron"\ncount = 3\n\n[programmes.boxes_only]', ("groups.0.name", "may hold letters, digits"), at='name = "iron/box"'),
    Case("price break of three parts", "lead_days = 21", "lead_days = 21\nprice_breaks = [[50, 5, 1]]", ("stock.small.price_breaks.0", "3 parts, at most 2"), at="price_breaks"),
    Case("leave of text", "leave = [[2026-08-03, 2026-08-14]]", 'leave = ["August"]', ("technicians.anna.leave.0", "is text, must be a list"), at='leave = ["August"]'),
    Case("data sheet of two points", "price_per_kg = 12.0", 'price_per_kg = 12.0\nisotherm = { form = "data_sheet", points = [[20, 0.1], [50, 0.3]] }', ("isotherm.points", "has 2 parts, at least 3 needed; add what is missing"), at="isotherm = {"),
    Case("metals without a metal", "[metals.iron]\nlabel = \"chloride-bearing iron\"\nceiling_rh_pct = 15.0\nstandard_pct = 95.0\n\n[metals.copper]\nlabel = \"copper alloy\"\nceiling_rh_pct = 38.0\nstandard_pct = 95.0\n", "[metals]\n", ("metals = {}: has 0 parts, at least 1 needed; add a table [metals.NAME]",)),
    Case("search of an unknown plan", "[programmes.boxes_only]", '[search]\nplans = ["quaterly"]\n\n[programmes.boxes_only]', ("search.plans", "there is no such plan; did you mean 'quarterly'?"), at='plans = ["quaterly"]'),
    Case("search of an unknown key", "[programmes.boxes_only]", '[search.vary]\n"ovens.small.cuont" = [1, 2]\n\n[programmes.boxes_only]', ("search.vary.ovens.small.cuont", "unknown key 'cuont'; did you mean 'count'?"), at="cuont"),
    Case("search of an unquoted key", "[programmes.boxes_only]", '[search.vary]\nmetals.iron.ceiling_rh_pct = [12, 15]\n\n[programmes.boxes_only]', ("search.vary.metals.iron.ceiling_rh_pct", "cannot be varied by a search; ceilings and standards"), at="metals.iron.ceiling"),
    Case("number for the films", "[climate]\n", "films = 5\n\n[climate]\n", ("films = 5: must be a table",), at="films = 5"),
    Case("number for a film", "[climate]\n", "films.ldpe = 5\n\n[climate]\n", ("films.ldpe = 5: must be a table; write a table [films.ldpe] with its keys below: activation",), at="films.ldpe"),
    # events from outside
    Case("incident of an unknown oven", "[programmes.boxes_only]", '[[incidents]]\nwhat = "oven_out"\nstarts = 2026-03-01\ndays = 30\nname = "smal"\n\n[programmes.boxes_only]', ("incidents.0.name", "did you mean 'small'?"), at='name = "smal"'),
    Case("incident of an unknown person", "[programmes.boxes_only]", '[[incidents]]\nwhat = "person_away"\nstarts = 2026-03-01\ndays = 30\nname = "ana"\n\n[programmes.boxes_only]', ("incidents.0.name", "did you mean 'anna'?"), at='name = "ana"'),
    Case("incident with a name in vain", "[programmes.boxes_only]", '[[incidents]]\nwhat = "power_cut"\nstarts = 2026-03-01\ndays = 30\nname = "small"\n\n[programmes.boxes_only]', ("incidents.0.name", "has no meaning for", "leave it out"), at='name = "small"'),
    Case("incident after the run", "[programmes.boxes_only]", '[[incidents]]\nwhat = "power_cut"\nstarts = 2027-03-01\ndays = 3\n\n[programmes.boxes_only]', ("incidents.0.starts = 2027-03-01: lies outside the run, 2026-01-01 to 2026-12-31",), at="starts = 2027"),
    Case("visits to an unknown metal", "[programmes.boxes_only]", '[[visits]]\nmetal = "gold"\nvisits_per_year = 3\n\n[programmes.boxes_only]', ("visits.0.metal", "there is no [metals.gold]"), at='metal = "gold"'),
    Case("arrival before the run", "[programmes.boxes_only]", '[[arrivals]]\narrives = 2025-05-01\nkind = "clip_box"\nmetal = "iron"\ncount = 3\n\n[programmes.boxes_only]', ("arrivals.0.arrives = 2025-05-01: lies outside the run",), at="arrives ="),
    Case("arrival in an unknown kind", "[programmes.boxes_only]", '[[arrivals]]\narrives = 2026-05-01\nkind = "clipbox"\nmetal = "iron"\ncount = 3\n\n[programmes.boxes_only]', ("arrivals.0.kind", "did you mean 'clip_box'?"), at='kind = "clipbox"'),
    Case("range of an unknown key", "[programmes.boxes_only]", '[uncertain.damp]\nkeys = ["climate.rh_mean"]\nlow = 40\nhigh = 60\n\n[programmes.boxes_only]', ("uncertain.damp.keys.0", "did you mean 'rh_mean_pct'?"), at="keys = ["),
    Case("range with its ends exchanged", "[programmes.boxes_only]", '[uncertain.damp]\nkeys = ["climate.rh_mean_pct"]\nlow = 60\nhigh = 40\n\n[programmes.boxes_only]', ("uncertain.damp.low = 60", "must be below high = 40", "give the lower end first"), at="low = 60"),
    Case("range of a spread", "[programmes.boxes_only]", '[uncertain.leak]\nkeys = ["kinds.clip_box.layers.0.leak_per_day"]\nlow = 1\nhigh = 2\n\n[programmes.boxes_only]', ("uncertain.leak.keys.0", "not a number", "its median or sigma_ln"), at="keys = ["),
    Case("range of what is not there", "[programmes.boxes_only]", '[uncertain.oven]\nkeys = ["ovens.big.cycle_h"]\nlow = 5\nhigh = 9\n\n[programmes.boxes_only]', ("uncertain.oven.keys.0", "there is no 'big' in [ovens]"), at="keys = ["),
    Case("re-housing into itself", "[programmes.boxes_only]", '[[rehousing]]\nstarts = 2026-05-01\n\n[rehousing.replace]\nclip_box = "clip_box"\n\n[programmes.boxes_only]', ("rehousing.0.replace.clip_box", "replaces a kind by itself"), at='clip_box = "clip_box"'),
    Case("re-housing of an unknown metal", "[programmes.boxes_only]", '[[rehousing]]\nstarts = 2026-05-01\nreplace = { triple_bag = "clip_box" }\nmetals = ["irn"]\n\n[programmes.boxes_only]', ("rehousing.0.metals.0", "did you mean 'iron'?"), at="metals = ["),
    Case("price breaks that fall", "lead_days = 21", "lead_days = 21\nprice_breaks = [[50, 5], [20, 10]]", ("stock.small.price_breaks.1 = [20, 10]: quantities must rise, 20 follows 50",), at="price_breaks"),
    Case("two fill rules", 'volume_m3 = 0.005\n', 'volume_m3 = 0.005\ngel_kg_per_m3 = 20\ngel_pct_of_empty = 33\n', ("kinds.clip_box.gel_pct_of_empty = 33", "both say how much gel; give one of them"), at="gel_pct_of_empty"),
    Case("fill rule without a packet", 'volume_m3 = 0.005\npacket = "small"\n', "volume_m3 = 0.005\ngel_kg_per_m3 = 20\n", ("kinds.clip_box.gel_kg_per_m3: says how much gel, but the kind has no packet",), at="gel_kg_per_m3"),
    # groups
    Case("group of nothing known", "[programmes.boxes_only]", '[[groups]]\nkind = "clip_bx"\nmetal = "iron"\ncount = 3\n\n[programmes.boxes_only]', ("groups.0.kind", "did you mean 'clip_box'?"), at='kind = "clip_bx"'),
    Case("group regenerated backwards", "[programmes.boxes_only]", '[[groups]]\nkind = "clip_box"\nmetal = "iron"\ncount = 3\nregenerated_days_ago = [180, 0]\n\n[programmes.boxes_only]', ("groups.0.regenerated_days_ago = [180, 0]: must rise; write [0, 180]",), at="regenerated_days_ago"),
    Case("two groups of one name", "[programmes.boxes_only]", '[[groups]]\nkind = "clip_box"\nmetal = "iron"\ncount = 3\n[[groups]] # second\nkind = "clip_box"\nmetal = "iron"\ncount = 3\n\n[programmes.boxes_only]', ("groups.1: two groups are called 'iron clip_box'",), at="# second"),
    Case("group of none", "[programmes.boxes_only]", '[[groups]]\nkind = "clip_box"\nmetal = "iron"\ncount = 0\n\n[programmes.boxes_only]', ("groups.0.count = 0: must be 1..",), at="count = 0"),
    Case("group in litres", "[programmes.boxes_only]", '[[groups]]\nkind = "clip_box"\nmetal = "iron"\ncount = 2\nvolume_m3 = 5\n\n[programmes.boxes_only]', ("groups.0.volume_m3 = 5", "divide by 1000: 0.005"), at="volume_m3 = 5"),
    Case("group with text for a volume", "[programmes.boxes_only]", '[[groups]]\nkind = "clip_box"\nmetal = "iron"\ncount = 2\nvolume_m3 = "5"\n\n[programmes.boxes_only]', ("groups.0.volume_m3", "write it without quotes"), at='volume_m3 = "5"'),
]  # fmt: skip

ROW = "B001,clip_box,iron,12,,,,,,2025-11-04,,shelf 1"
REGISTER_CASES = [
    Case("unknown kind", "B001,clip_box", "B001,clip_bx", ('kind = clip_bx: is not a kind of the scenario; did you mean \'clip_box\'?',)),
    Case("unknown metal", "B001,clip_box,iron", "B001,clip_box,irn", ("metal = irn: is not a metal of the scenario; did you mean 'iron'?",)),
    Case("unknown packet in a row", "B003,clip_box,iron,1,0.009,0.006,,2", "B003,clip_box,iron,1,0.009,0.006,big,2", ("packet = big: is not a packet of the scenario; packets there: small",)),
    Case("id stands twice", "B002,", "B001,", ("id = B001: stands twice; the first is in line 2",), at="B001,clip_box,iron,4"),
    Case("empty id", "B001,", ",", ("id: is empty; fill in the id",), at=",clip_box,iron,12"),
    Case("formula in an id", "B001,", "=1+1,", ("id = =1+1: looks like a spreadsheet formula",), at="=1+1"),
    Case("strange id", "B001,", "B001|a,", ("id = B001|a: may hold letters",), at="B001|a"),
    Case("very long id", "B001,", f"{'B' * 61},", ("is longer than 60 characters",), at="B" * 61),
    Case("fraction of objects", ROW, ROW.replace(",12,", ",1.5,"), ("objects = 1.5: is not a whole number",), at=",1.5,"),
    Case("no objects", ROW, ROW.replace(",12,", ",0,"), ("objects = 0: must be 1..10000",), at="iron,0"),
    Case("words for a number", "1,0.009,0.006", "1,nine,0.006", ("volume_m3 = nine: is not a number",)),
    Case("unit in a cell", "1,0.009,0.006", "1,9 l,0.006", ("volume_m3 = 9 l: is not a number; leave out the unit",)),
    Case("decimal comma in a cell", "1,0.009,0.006", '1,"0,009",0.006', ("volume_m3 = 0,009: has a decimal comma; write 0.009",), at='"0,009"'),
    Case("litres above all bounds", "1,0.009,0.006", "1,50,0.006", ("volume_m3 = 50", "divide by 1000: 0.05")),
    Case("litres within bounds", "1,0.009,0.006", "1,5,0.006", ("volume_m3 = 5: is 1000 times the volume of its kind, 0.005 m3; looks like litres; divide by 1000: 0.005",)),
    Case("empty space in litres", "1,0.009,0.006", "1,0.009,3", ("empty_m3 = 3", "divide by 1000: 0.003")),
    Case("more air than volume", "1,0.009,0.006", "1,0.009,0.012", ("empty_m3 = 0.012: is more than the volume, 0.009 m3",)),
    Case("negative volume", "1,0.009,0.006", "1,-0.009,0.006", ("volume_m3 = -0.009: must be above 0 to 10 m3",)),
    Case("negative leak", ",0.6,2025-10-14", ",-0.6,2025-10-14", ("leak_per_day = -0.6: must be above 0 to 1000 per day",), at="-0.6"),
    Case("date day first", "2025-11-04,,shelf 1\nB002", "04/11/2025,,shelf 1\nB002", ("last_regenerated = 04/11/2025: is not written year first; write it as 2026-01-31",), at="04/11/2025"),
    Case("day that does not exist", "2025-11-04,,shelf 1\nB002", "2025-02-30,,shelf 1\nB002", ("last_regenerated = 2025-02-30: is not a day of the calendar",), at="2025-02-30"),
    Case("words for a date", "2025-11-04,,shelf 1\nB002", "last May,,shelf 1\nB002", ("last_regenerated = last May: is not a date",), at="last May"),
    Case("date in the future", "2025-11-04,,shelf 1\nB002", "2026-11-04,,shelf 1\nB002", ("last_regenerated = 2026-11-04: is after the run's first day, 2026-01-01",), at="2026-11-04"),
    Case("water above 100", "6.5,drawer 2", "165,drawer 2", ("gel_water_pct = 165: must be 0..100 %",)),
    Case("more packets than room", "0.006,,2,", "0.006,,40,", ("volume_m3 = 40: 40 packets of 0.25 kg take",)),
    Case("blank row", "B002,", ",,,,,,,,,,,\nB002,", ("is a blank row; delete it",), at=",,,,,,,,,,,\n"),
    Case("row too short", "B007,clip_box,copper,20,,,,,,2025-06-03,,shelf 3", "B007,clip_box,copper", ("has 3 cells, the header has 12; add the missing commas",), at="B007"),
    Case("row too long", "shelf 1\nB002", "shelf 1, left\nB002", ("has 13 cells, the header has 12; write decimals with a point",), at="shelf 1, left"),
    Case("unknown column", "id,kind,metal,objects", "id,kind,metal,number", ("number: unknown column",)),
    Case("misspelt column", "last_regenerated", "last_regenarated", ("last_regenarated: unknown column; did you mean 'last_regenerated'?",)),
    Case("missing column", "id,kind,metal", "id,kind,place", ("metal: column is missing",)),
    Case("column stands twice", "gel_water_pct,place", "place,place", ("place: stands twice in the header; keep one column",)),
    Case("column without a name", "gel_water_pct,place", "gel_water_pct,", ("column without a name",), at="id,kind"),
    Case("open quote", "shelf 1\nB002", '"shelf 1\nB002', ("is not a CSV row",), at=None, no_line=True),
]  # fmt: skip


def copy_of_tiny(folder: Path) -> Path:
    shutil.copytree(TINY, folder / "tiny")
    return folder / "tiny"


def message_for(scenario: Path) -> str:
    with pytest.raises(SimstoreError, match="problem") as caught:
        load_scenario(scenario)
    return str(caught.value)


def check(case: Case, file: str, tmp_path: Path) -> None:
    folder = copy_of_tiny(tmp_path)
    text = (folder / file).read_text(encoding="utf-8")

    assert case.old in text, "the case does not fit the good scenario"

    changed = text.replace(case.old, case.new, 1)
    (folder / file).write_text(changed, encoding="utf-8")
    message = message_for(folder)
    lines = message.splitlines()

    assert lines[0].startswith(f"scenario {folder}: ")
    assert "pydantic" not in message
    assert "http" not in message
    assert all("; " in line for line in lines[1:]), f"a problem without a cure in:\n{message}"

    place = f"- {file}:"
    if not case.no_line:
        needle = case.new.splitlines()[0] if case.at is None else case.at
        place = f"- {file}:{changed[: changed.rindex(needle)].count(chr(10)) + 1}:"
    meant = [line for line in lines[1:] if all(part in line for part in case.says)]

    assert any(place in line for line in meant), f"{place} {case.says} not in:\n{message}"


@pytest.mark.parametrize("case", TOML_CASES, ids=lambda case: case.name)
def test_a_slip_in_the_scenario_file_is_named_with_line_key_value_and_cure(case, tmp_path):
    check(case, T, tmp_path)


@pytest.mark.parametrize("case", REGISTER_CASES, ids=lambda case: case.name)
def test_a_slip_in_the_register_is_named_with_line_column_value_and_cure(case, tmp_path):
    check(case, R, tmp_path)
