"""A workbook says what a folder says, both ways; whatever is wrong in it is told by sheet and cell."""

import io
import subprocess
import tomllib
from datetime import date, timedelta
from pathlib import Path

import openpyxl
import pytest
from outside_tools import program
from typer.testing import CliRunner

from simstore.cli.app import app
from simstore.errors import SimstoreError
from simstore.questions.store import load
from simstore.scenario.reading.converted import convert
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.workbook.from_files import workbook_of
from simstore.scenario.workbook.to_files import texts_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def same(one, other):
    return one.settings == other.settings and one.enclosures == other.enclosures


@pytest.mark.parametrize("name", ["tiny", "river_depot"])
def test_folder_to_workbook_to_folder_to_workbook_says_the_same(name, tmp_path):
    folder = SCENARIOS / name
    convert(folder, tmp_path / "one.xlsx")
    convert(tmp_path / "one.xlsx", tmp_path / "again")
    convert(tmp_path / "again", tmp_path / "two.xlsx")

    first = load_scenario(folder)
    assert all(same(first, load_scenario(tmp_path / each)) for each in ("one.xlsx", "again", "two.xlsx"))
    texts = [texts_of((tmp_path / each).read_bytes(), each).files for each in ("one.xlsx", "two.xlsx")]
    assert texts[0] == texts[1]
    with (folder / "scenario.toml").open("rb") as file:
        assert tomllib.loads(texts[0]["scenario.toml"].decode()) == tomllib.load(file)


def test_every_sort_of_value_comes_back(tmp_path):
    document = {
        "title": '"quoted" [and] {braced}', "note": "=SUM(A1)", "start": date(2026, 1, 1), "default_plan": "p",
        "watch": ["a;b", "c"], "climate": {"source": "seasonal", "temp_mean_c": 15.25},
        "metals": {"iron": {"label": "0012", "ceiling_rh_pct": 15}},
        "kinds": {"box 2": {"label": "b", "form": "box", "volume_m3": 1e-05, "layers": [{"film": "ldpe", "thickness_um": 100, "area_m2": 0.1, "leak_per_day": {"median": 1.5, "sigma_ln": 0.7}}]}},
        "technicians": {"t": {"sessions": ["Tue 09:00-12:30", "Thu 13:00-16:30"], "leave": [[date(2026, 8, 3), date(2026, 8, 14)]]}},
        "ovens": {"o": {"trays": 4, "tray_area_m2": 0.16, "attended": True}},
        "plans": {"p": {"label": "x", "rule": "calendar", "cadence_weeks": {"iron": 8, "copper": 26.5}, "changes": {"ovens.o.count": 2}}},
        "groups": [{"kind": "box 2", "metal": "iron", "count": 3, "regenerated_days_ago": [0.0, 180.0]}],
        "search": {"plans": ["p"], "vary": {"plans.p.cadence_weeks": [4, 8]}},
    }  # fmt: skip
    texts = texts_of(workbook_of(document, None), "x.xlsx")
    assert tomllib.loads(texts.files["scenario.toml"].decode()) == document


def changed(tmp_path, sheet, cell, value):
    """Start a workbook, put a value into a cell, and return its path."""
    path = tmp_path / "mystore.xlsx"
    convert(SCENARIOS / "tiny", path)
    book = openpyxl.load_workbook(path)
    book[sheet][cell] = value
    book.save(path)
    return path


def place(sheet, row, column):
    """Find a cell by the name in its first column and the key above it."""
    book = openpyxl.load_workbook(io.BytesIO(workbook_of(*document_of("tiny"))))
    keys = [cell.value for cell in book[sheet][1]]
    number = next(n for n, cells in enumerate(book[sheet].iter_rows(values_only=True), 1) if cells[0] == row)
    return book[sheet].cell(number, keys.index(column) + 1).coordinate


def document_of(name):
    folder = SCENARIOS / name
    return tomllib.loads((folder / "scenario.toml").read_text(encoding="utf-8")), (folder / "register.csv").read_bytes()


@pytest.mark.parametrize(
    ("sheet", "row", "column", "value", "says"),
    [
        ("kinds", "clip_box", "volume_m3", -1, "kinds.clip_box.volume_m3 = -1: must be above 0 to 10 m3"),
        ("metals", "iron", "ceiling_rh_pct", "fifteen", "metals.iron.ceiling_rh_pct"),
        ("plans", "quarterly", "rule", "yearly", "plans.quarterly.rule"),
        ("store", "climate.rh_mean_pct", "value", 580, "climate.rh_mean_pct = 580"),
        ("store", "seed", "value", "[", 'seed = "[": is text, must be a whole number'),
        ("register", "B001", "metal", "gold", "metal = gold: is not a metal of the scenario"),
        ("register", "B001", "volume_m3", 5, "looks like litres"),
    ],
)
def test_a_slip_is_told_by_sheet_and_cell(sheet, row, column, value, says, tmp_path):
    cell = place(sheet, row, column)
    path = changed(tmp_path, sheet, cell, value)
    with pytest.raises(SimstoreError) as caught:
        load_scenario(path)
    said = str(caught.value)
    assert says in said
    at = f"row {cell.lstrip('ABCDEFGHIJKLMNOPQRSTUVWXYZ')}" if sheet == "register" else f"cell {cell}"
    assert f"mystore.xlsx, sheet '{sheet}', {at}: " in said


def test_a_column_that_is_none_and_a_row_without_a_name_are_told(tmp_path):
    with pytest.raises(SimstoreError, match=r"ovens\.colour: is not a column of this sheet"):
        load_scenario(coloured(tmp_path))


def coloured(tmp_path):
    path = changed(tmp_path, "ovens", "Z1", "colour")
    book = openpyxl.load_workbook(path)
    book["ovens"]["Z3"] = "red"
    book.save(path)
    return path


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 broken", b"not a workbook"])
def test_what_is_no_workbook_is_refused(data, tmp_path):
    (tmp_path / "x.xlsx").write_bytes(data)
    with pytest.raises(SimstoreError, match="is not a workbook that can be read"):
        load_scenario(tmp_path / "x.xlsx")
    with pytest.raises(SimstoreError, match="cannot be read"):
        load_scenario(tmp_path / "missing.xlsx")


def test_drop_down_lists_limits_and_remarks_are_there(tmp_path):
    convert(None, tmp_path / "new.xlsx")
    book = openpyxl.load_workbook(tmp_path / "new.xlsx")
    rules = next(each for each in book["plans"].data_validations.dataValidation if "calendar" in each.formula1)
    assert rules.formula1 == '"calendar,reading,forecast"'
    assert {each.formula1 for each in book["register"].data_validations.dataValidation} >= {"=kinds!$A$3:$A$200"}
    keys = {cell.value: cell for cell in book["kinds"][1]}
    assert keys["volume_m3"].comment.text == "inside volume"
    assert book["kinds"].cell(2, keys["volume_m3"].column).value == "above 0 to 10 m3"
    assert book["register"].cell(3, 1).value == "DEMO-01"


def test_commands_take_a_workbook_and_its_results_are_those_of_the_folder(tmp_path):
    convert(SCENARIOS / "tiny", tmp_path / "tiny.xlsx")
    of_folder = load(SCENARIOS / "tiny").run("quarterly", replications=2)
    of_book = load(tmp_path / "tiny.xlsx").run("quarterly", replications=2)
    assert of_book.words == of_folder.words
    answer = CliRunner().invoke(app, ["check", str(tmp_path / "tiny.xlsx")])
    assert answer.exit_code == 0
    assert "Tiny store" in answer.output
    folder = of_book.save(tmp_path / "out", pictures=False, report=True)
    assert (folder / "report.html").exists()


def test_starting_where_something_is_leaves_it(tmp_path):
    (tmp_path / "mine.xlsx").write_bytes(b"mine")
    with pytest.raises(SimstoreError, match="is there already"):
        convert(None, tmp_path / "mine.xlsx")
    assert (tmp_path / "mine.xlsx").read_bytes() == b"mine"


def test_a_climate_file_goes_with_the_scenario(tmp_path):
    folder = tmp_path / "store"
    convert(SCENARIOS / "tiny", folder)
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]
    hours = "".join(f"{day} {hour:02d}:00,16.0,58.0\n" for day in days for hour in range(24))
    (folder / "air.csv").write_text("time,temp_c,rh_pct\n" + hours, encoding="utf-8")
    text = (folder / "scenario.toml").read_text(encoding="utf-8")
    text = text.replace('source = "seasonal"\n', 'source = "logger"\nfile = "air.csv"\n')
    (folder / "scenario.toml").write_text(
        "".join(line for line in text.splitlines(keepends=True) if not line.startswith(("temp_", "rh_"))),
        encoding="utf-8",
    )
    first = load_scenario(folder)
    (tmp_path / "other").mkdir()
    convert(folder, tmp_path / "other" / "store.xlsx")
    assert same(first, load_scenario(tmp_path / "other" / "store.xlsx"))
    assert (tmp_path / "other" / "air.csv").exists()


@pytest.mark.browser
def test_libreoffice_opens_it_and_what_it_saves_says_the_same(tmp_path):
    office = program("soffice", "libreoffice")
    convert(SCENARIOS / "river_depot", tmp_path / "store.xlsx")
    subprocess.run(
        [office, f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless", "--convert-to", "xlsx", "--outdir", tmp_path / "saved", tmp_path / "store.xlsx"],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    assert same(load_scenario(SCENARIOS / "river_depot"), load_scenario(tmp_path / "saved" / "store.xlsx"))
