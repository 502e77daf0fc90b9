"""The workbook: text stays text, formulas carry their values, totals are the simulated ones, bytes are always the same."""

import json
import math
import zipfile

import openpyxl
import pytest
from report.conftest import simulate

from simstore.report.workbook.sheet import Sheet, formats_of
from simstore.report.workbook.workbook import write_workbook
from simstore.results.budget import budget_of
from simstore.results.reading import read_result_folder

SHEETS = ["Budget", "Purchases by month", "Hours by month and task", "Assumptions"]


def cells(path, *, values):
    book = openpyxl.load_workbook(path, data_only=values)
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


def amount(path, label, *, sheet="Budget", column="F"):
    found = cells(path, values=True)
    (row,) = [
        key[1][1:] for key, value in found.items() if key[0] == sheet and key[1][0] == "A" and value == label
    ]  # fmt: skip
    return found[sheet, f"{column}{row}"]


def summary(results, plan, metric):
    document = json.loads((results / "summary.json").read_text(encoding="utf-8"))
    return document["plans"][plan][metric]["mean"]


def test_the_workbook_has_the_four_sheets(results):
    assert openpyxl.load_workbook(results / "budget.xlsx").sheetnames == SHEETS


def test_totals_are_the_simulated_ones_to_the_cent(results):
    path = results / "budget.xlsx"

    running = amount(path, "Running costs, in all")
    whole = amount(path, "A year over the life of the equipment")

    assert running == pytest.approx(summary(results, "two_ovens", "cost_per_year"), abs=0.005)
    assert whole == pytest.approx(summary(results, "two_ovens", "annual_equivalent_cost"), abs=0.005)


@pytest.mark.parametrize("plan", ["quarterly", "two_ovens", "strip", "forecast"])
def test_lines_explain_the_costs_of_every_plan_with_prices_and_only_rounding_is_left(results, plan):
    budget = budget_of(read_result_folder(results), plan)

    assert budget.whole_per_year == pytest.approx(summary(results, plan, "annual_equivalent_cost"), abs=1e-6)
    assert abs(budget.running_rounding) + abs(budget.capital_rounding) <= 0.005 * len(budget.lines)
    assert [line.label for line in budget.lines if not line.unit] == []


TWO_SORTS = {
    "reorder_point = 2": "reorder_point = 6",
    'volume_m3 = 0.004\npacket = "small"': 'volume_m3 = 0.004\npacket = "large"',
    "[packets.small]": """[packets.large]
label = "perforated bag, 0.5 kg"
sorbent = "narrow_pore_orange"
gel_kg = 0.5
unit_price = 0.7

[stock.large]
ready = 3
reorder_point = 3
order_quantity = 2
price_breaks = [[2, 25.0]]

[packets.small]""",
}


def test_a_budget_with_two_sorts_of_packet_has_a_line_with_a_price_for_each(tmp_path):
    out = simulate(tmp_path, replications=2, changes=TWO_SORTS, plans=("quarterly",))
    folder = read_result_folder(out)
    budget = budget_of(folder, "quarterly")
    lines = {line.line: line for line in budget.lines}

    assert [line.line for line in budget.lines if not line.unit] == []
    assert budget.whole_per_year == pytest.approx(summary(out, "quarterly", "annual_equivalent_cost"), abs=1e-6)
    # By hand: orders of two large packets at 25 % off 0.5 kg x 12 + 0.7 each; of four small ones at the full price.
    orders = folder.tables["orders"].groupby("packet")[["gel_kg", "price"]].sum() / 2
    for name, gel_kg, price, empty in (("large", 0.5, 9.0, 0.525), ("small", 0.25, 12.0, 0.4)):
        gel, packets = lines[f"gel purchases: {name}"], lines[f"packets purchased: {name}"]
        assert gel.quantity == pytest.approx(orders.loc[name, "gel_kg"])
        assert packets.quantity == pytest.approx(gel.quantity / gel_kg)
        assert (gel.price, packets.price) == pytest.approx((price, empty))
        assert gel.amount_per_year + packets.amount_per_year == pytest.approx(orders.loc[name, "price"])


def test_the_second_oven_is_bought_before_the_year_begins(results):
    # By hand: the plan has one oven more than the store, at 900 each.
    budget = budget_of(read_result_folder(results), "two_ovens")

    assert [(part.label, part.quantity, part.price) for part in budget.outlays] == [("new ovens: small", 1, 900.0)]
    assert budget.first_year == pytest.approx(900.0 + budget.running_per_year)


def test_text_that_looks_like_a_formula_stays_text(results):
    formulas = cells(results / "budget.xlsx", values=False)
    book = openpyxl.load_workbook(results / "budget.xlsx")
    hostile = [key for key, value in formulas.items() if "HYPERLINK" in str(value)]

    assert all(book[sheet][place].data_type == "s" for sheet, place in hostile)
    starts = [value for value in formulas.values() if str(value).startswith("=")]
    assert all(value.startswith(("=SUM(", "=B", "=F", "=0")) for value in starts)


def test_every_formula_carries_its_value_and_no_cell_is_not_a_number(results):
    formulas = cells(results / "budget.xlsx", values=False)
    values = cells(results / "budget.xlsx", values=True)
    calculated = [key for key, value in formulas.items() if str(value).startswith("=")]

    assert len(calculated) > 20
    assert all(isinstance(values[key], int | float) and math.isfinite(values[key]) for key in calculated)


def test_the_same_results_give_the_same_bytes(results, tmp_path):
    folder = read_result_folder(results)
    for name in ("one.xlsx", "two.xlsx"):
        write_workbook(tmp_path / name, folder, budget_of(folder, "two_ovens"))

    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()
    assert (tmp_path / "one.xlsx").read_bytes() == (results / "budget.xlsx").read_bytes()


def test_the_workbook_has_no_links_macros_or_outside_parts(results):
    with zipfile.ZipFile(results / "budget.xlsx") as parts:
        names = parts.namelist()

    assert not [name for name in names if "external" in name.lower() or "vba" in name.lower()]


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_number_that_is_none_is_refused(value, tmp_path):
    import xlsxwriter

    book = xlsxwriter.Workbook(str(tmp_path / "x.xlsx"))
    sheet = Sheet(book, "Sheet", formats_of(book))

    with pytest.raises(ValueError, match="cell B2 of the workbook must be a finite number"):
        sheet.number("B2", value, "amount")
    with pytest.raises(ValueError, match="cell B2 of the workbook must be a finite number"):
        sheet.formula("B2", "=1/0", value, "amount")
