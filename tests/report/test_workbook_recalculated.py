"""An independent spreadsheet program calculates the workbook anew and comes to our totals."""

import json
import subprocess

import openpyxl
import pytest
from outside_tools import program

pytestmark = pytest.mark.browser

CENT = 0.005


def calculated(path, folder):
    """Amounts by label after an office program has calculated every formula from scratch."""
    office = program("soffice", "libreoffice")
    book = openpyxl.load_workbook(path)
    stripped = folder / "stripped.xlsx"
    book.save(stripped)  # openpyxl writes formulas without values, so that nothing old can be shown
    values = openpyxl.load_workbook(stripped, data_only=True)["Budget"]
    assert not any(
        isinstance(row[5].value, int | float) for row in values if book["Budget"][row[5].coordinate].data_type == "f"
    )
    subprocess.run(
        [office, "--headless", f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--convert-to",
         "xlsx:Calc MS Excel 2007 XML", "--outdir", folder / "done", stripped],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    return openpyxl.load_workbook(folder / "done" / "stripped.xlsx", data_only=True)


def by_label(book):
    return {row[0].value: row[5].value for row in book["Budget"].iter_rows(max_col=6) if row[0].value}


def changed(path, folder, changes):
    """Set cells of the budget, found by the label in column A."""
    book = openpyxl.load_workbook(path)
    sheet = book["Budget"]
    for (label, column), value in changes.items():
        (row,) = [cells[0].row for cells in sheet.iter_rows(max_col=1) if cells[0].value == label]
        sheet[f"{column}{row}"] = value
    book.save(folder / "changed.xlsx")
    return folder / "changed.xlsx"


def simulated(results):
    return json.loads((results / "summary.json").read_text(encoding="utf-8"))["plans"]["two_ovens"]


def test_totals_calculated_anew_are_ours_to_the_cent(results, tmp_path):
    found = by_label(calculated(results / "budget.xlsx", tmp_path))
    ours = simulated(results)
    running, whole = ours["cost_per_year"]["mean"], ours["annual_equivalent_cost"]["mean"]

    assert found["Running costs, in all"] == pytest.approx(running, abs=CENT)
    assert found["A year over the life of the equipment"] == pytest.approx(whole, abs=CENT)
    # By hand: one more oven at 900, and a year of running costs.
    assert found["This year: what is bought first, and running costs"] == pytest.approx(900.0 + running, abs=CENT)


def test_every_formula_calculated_anew_has_the_value_that_we_wrote(results, tmp_path):
    anew = calculated(results / "budget.xlsx", tmp_path)
    formulas = openpyxl.load_workbook(results / "budget.xlsx")
    ours = openpyxl.load_workbook(results / "budget.xlsx", data_only=True)
    places = [(s.title, c.coordinate) for s in formulas for row in s.iter_rows() for c in row if c.data_type == "f"]

    assert len(places) > 20
    for sheet, place in places:
        assert anew[sheet][place].value == pytest.approx(ours[sheet][place].value, abs=CENT), (sheet, place)


def test_another_price_and_no_discount_move_the_totals_as_they_should(results, tmp_path):
    # Without discount an oven at 900 with a life of 12 years costs 75 a year; 2 ovens cost 150. A wage of nothing takes
    # the whole line of labour away.
    path = changed(
        results / "budget.xlsx", tmp_path, {("Discount rate, % a year", "B"): 0, ("labour of anna", "D"): 0}
    )  # fmt: skip

    before, after = (
        by_label(openpyxl.load_workbook(results / "budget.xlsx", data_only=True)),
        by_label(calculated(path, tmp_path)),
    )

    assert after["ovens: small"] == pytest.approx(150.0, abs=CENT)
    assert after["labour of anna"] == 0
    assert after["Running costs, in all"] == pytest.approx(
        before["Running costs, in all"] - before["labour of anna"], abs=CENT
    )
