"""Files that are wrong as a whole: encodings, separators, empty ones; and that all problems come at once."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from simstore.errors import SimstoreError
from simstore.scenario.reading.load import load_scenario, scenario_from_toml_text

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(TINY, tmp_path / "tiny")
    return tmp_path / "tiny"


def problems(scenario: Path) -> list[str]:
    with pytest.raises(SimstoreError, match="problem") as caught:
        load_scenario(scenario)
    return str(caught.value).splitlines()[1:]


def register(folder: Path) -> Path:
    return folder / "register.csv"


def test_a_scenario_that_does_not_exist_is_named(tmp_path):
    with pytest.raises(
        SimstoreError, match=r"scenario .*nowhere: 1 problem\n  - nowhere: there is no such file; put it"
    ):
        load_scenario(tmp_path / "nowhere")


def test_a_folder_without_a_scenario_file_is_named(tmp_path):
    with pytest.raises(SimstoreError, match=r"scenario\.toml: there is no such file; put it into"):
        load_scenario(tmp_path)


def test_a_toml_file_may_be_given_instead_of_its_folder(folder):
    assert load_scenario(folder / "scenario.toml").settings == load_scenario(folder).settings


@pytest.mark.parametrize("name", ["scenario.toml", "register.csv"])
def test_a_byte_order_mark_is_accepted(folder, name):
    plain = load_scenario(folder)
    (folder / name).write_bytes(b"\xef\xbb\xbf" + (folder / name).read_bytes())
    marked = load_scenario(folder)

    assert marked.settings == plain.settings
    assert marked.enclosures == plain.enclosures


@pytest.mark.parametrize("name", ["scenario.toml", "register.csv"])
def test_line_ends_of_another_system_are_accepted(folder, name):
    plain = load_scenario(folder)
    (folder / name).write_bytes((folder / name).read_bytes().replace(b"\n", b"\r\n"))

    assert load_scenario(folder).enclosures == plain.enclosures


@pytest.mark.parametrize("name", ["scenario.toml", "register.csv"])
def test_windows_1252_is_named_with_the_line_of_the_byte(folder, name):
    text = (folder / name).read_text(encoding="utf-8").splitlines()
    text[3] = text[3] + (" # Bür" if name.endswith("toml") else "ü")
    (folder / name).write_bytes("\n".join(text).encode("cp1252"))

    assert f"{name}:4: byte 0xfc: is not UTF-8, perhaps Windows-1252; save it as UTF-8" in "\n".join(problems(folder))


@pytest.mark.parametrize("name", ["scenario.toml", "register.csv"])
def test_utf_16_is_named(folder, name):
    (folder / name).write_bytes((folder / name).read_text(encoding="utf-8").encode("utf-16"))

    assert f"{name}:1: is in UTF-16; save it as UTF-8" in "\n".join(problems(folder))


def test_an_empty_scenario_file_lists_every_key_that_is_missing(folder):
    (folder / "scenario.toml").write_text("", encoding="utf-8")
    found = "\n".join(problems(folder))

    for key in ("title", "start", "default_plan", "climate", "metals", "kinds", "plans"):
        assert f"scenario.toml: {key}: is missing; add" in found


def test_an_empty_register_is_named(folder):
    register(folder).write_text("", encoding="utf-8")

    assert problems(folder) == ["  - register.csv: is empty; begin with the header id,kind,metal"]


def test_a_register_with_a_header_only_is_named(folder):
    register(folder).write_text("id,kind,metal\n", encoding="utf-8")

    assert "register.csv:1: has a header but no rows; add a row for each enclosure" in problems(folder)[0]


@pytest.mark.parametrize(("mark", "word"), [(";", "semicolons"), ("\t", "tabs")])
def test_another_separator_is_named_once_and_not_once_a_row(folder, mark, word):
    register(folder).write_text(register(folder).read_text(encoding="utf-8").replace(",", mark), encoding="utf-8")
    found = problems(folder)

    assert len(found) == 1
    assert re.search(rf"register\.csv:1: id.*: is separated by {word}; save it as CSV with commas", found[0])


def test_null_bytes_are_named(folder):
    register(folder).write_bytes(register(folder).read_bytes().replace(b"B001", b"B\x0001"))

    assert "register.csv:1: holds null bytes" in problems(folder)[0]


def test_a_quoted_cell_with_a_line_end_does_not_shift_the_line_numbers(folder):
    text = register(folder).read_text(encoding="utf-8").replace("shelf 1\nB002", '"shelf 1\nleft"\nB002', 1)
    register(folder).write_text(text.replace("B004,clip_box", "B004,clip_bax"), encoding="utf-8")
    line = text.splitlines().index(next(row for row in text.splitlines() if row.startswith("B004"))) + 1

    assert f"register.csv:{line}: kind = clip_bax" in problems(folder)[0]


def test_ids_that_look_like_missing_values_or_numbers_stay_as_they_are(folder):
    text = register(folder).read_text(encoding="utf-8").replace("B001", "NA").replace("B002", "007")
    register(folder).write_text(text, encoding="utf-8")

    assert [row.id for row in load_scenario(folder).enclosures[:2]] == ["NA", "007"]


def test_problems_of_all_files_come_in_one_error_even_where_a_table_is_broken(folder):
    toml = (folder / "scenario.toml").read_text(encoding="utf-8")
    toml = (
        toml.replace("trays = 4", 'trays = "4"')
        .replace("seed = 7", "sead = 7")
        .replace('film = "ldpe"', 'film = "lpde"', 1)
    )
    toml = toml.replace('source = "seasonal"', 'source = "logger"\nfile = "room.csv"')
    (folder / "scenario.toml").write_text(toml, encoding="utf-8")
    (folder / "room.csv").write_text("time,temp_c,rh_pct\n2025-01-01 00:00,warm,50\n", encoding="utf-8")
    register(folder).write_text(
        register(folder).read_text(encoding="utf-8").replace("B001,clip", "B001,clap"), encoding="utf-8"
    )
    found = "\n".join(problems(folder))

    for part in (
        "ovens.small.trays",
        "sead",
        "kinds.triple_bag.layers.0.film",
        "register.csv:2: kind",
        "room.csv:2: temp_c = warm",
    ):
        assert part in found


def test_a_broken_table_is_not_called_missing_where_others_refer_to_it(folder):
    toml = (folder / "scenario.toml").read_text(encoding="utf-8").replace("gel_kg = 0.25", "gel_kg = -1")
    (folder / "scenario.toml").write_text(toml, encoding="utf-8")

    assert len(problems(folder)) == 1


def test_a_text_without_a_folder_may_name_no_files():
    text = (TINY / "scenario.toml").read_text(encoding="utf-8")

    with pytest.raises(SimstoreError, match="names a file, but the scenario is a text without a folder"):
        scenario_from_toml_text(text)


def test_a_text_with_groups_needs_no_files():
    text = (TINY / "scenario.toml").read_text(encoding="utf-8").replace('register = "register.csv"\n', "")
    text += '\n[[groups]]\nkind = "clip_box"\nmetal = "iron"\ncount = 3\n[[groups]]\nkind = "clip_box"\nmetal = "copper"\ncount = 2\n'
    scenario = scenario_from_toml_text(text)

    assert [row.id for row in scenario.enclosures][::2] == [
        "iron clip_box 001",
        "iron clip_box 003",
        "copper clip_box 002",
    ]


def test_a_text_with_a_folder_reads_its_files():
    text = (TINY / "scenario.toml").read_text(encoding="utf-8")

    assert len(scenario_from_toml_text(text, folder=TINY).enclosures) == 12


def test_the_files_that_were_read_are_kept_for_the_manifest():
    files = load_scenario(TINY).files

    assert [file.name for file in files] == ["scenario.toml", "register.csv"]
    assert files[0].text == (TINY / "scenario.toml").read_text(encoding="utf-8")
    assert all(re.fullmatch(r"[0-9a-f]{64}", file.sha256) for file in files)


def test_a_file_that_may_not_be_read_is_named(folder, monkeypatch):
    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)

    with pytest.raises(SimstoreError, match=r"scenario\.toml: cannot be read \(Permission denied\); check the name"):
        load_scenario(folder)


def test_every_fault_of_the_stated_ranges_is_named():
    ranges = """
[uncertain.a]
keys = ["climate.rh_mean"]
low = 1
high = 2

[uncertain.b]
keys = ["prices.energy_per_kwh"]
low = 2
high = 1

[uncertain.c]
keys = ["kinds.clip_box.layers.0.leak_per_day"]
low = 1
high = 2
"""
    text = (TINY / "scenario.toml").read_text(encoding="utf-8") + ranges

    with pytest.raises(SimstoreError, match=r"3 problems") as raised:
        scenario_from_toml_text(text, folder=TINY)

    said = str(raised.value)
    assert "did you mean 'rh_mean_pct'" in said
    assert "must be below high = 1" in said
    assert "not a number" in said
