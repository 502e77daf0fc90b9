"""The budget as a workbook whose formulas somebody else can change; the same bytes each time."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from simstore.money.costs import Sort, capital_recovery_factor
from simstore.report.workbook.sheet import Sheet, formats_of
from simstore.results.budget import Budget
from simstore.results.origins import inputs_of
from simstore.results.pooled import hours_by_month, of_plan
from simstore.results.reading import ResultFolder

if TYPE_CHECKING:
    import pandas as pd

CREATED: Final = datetime(2000, 1, 1)  # a fixed date, so that equal results give equal bytes


def write_workbook(path: Path, folder: ResultFolder, budget: Budget) -> None:
    """Write the workbook of ``budget``.

    Parameters
    ----------
    path : Path
        File to write.
    folder : ResultFolder
        Tables of purchases, hours and inputs.
    budget : Budget
        Lines of one plan.
    """
    import xlsxwriter

    with xlsxwriter.Workbook(str(path), {"in_memory": True, "strings_to_formulas": False}) as book:
        settings = folder.scenario.settings
        book.set_properties(
            {"title": f"{settings.title}: budget of plan {budget.plan}", "comments": settings.note, "created": CREATED}
        )
        book.set_calc_mode("auto")
        looks = formats_of(book)
        _budget(Sheet(book, "Budget", looks), folder, budget)
        if folder.has_runs:
            _purchases(Sheet(book, "Purchases by month", looks), folder, budget)
            _hours(Sheet(book, "Hours by month and task", looks), folder, budget)
        _assumptions(Sheet(book, "Assumptions", looks), folder)


def _budget(sheet: Sheet, folder: ResultFolder, budget: Budget) -> None:
    """Lay out the budget: what may be changed is shaded; everything else follows."""
    settings, currency, rate = folder.scenario.settings, budget.currency, budget.rate
    sheet.widths(44, 12, 12, 14, 10, 14, 16)
    sheet.text("A1", f"{settings.title}: budget of plan {budget.plan}", "title")
    sheet.text("A2", f"{settings.note} Means over {folder.replications} simulated runs.".strip(), "soft")
    sheet.text("A3", "Shaded cells may be changed; totals follow. Amounts are in the currency of the scenario.", "soft")
    sheet.text("A5", "Currency")
    sheet.text("B5", currency)
    sheet.text("A6", "Discount rate, % a year")
    sheet.number("B6", budget.discount_pct, "input")
    row = 8
    sheet.heads(row, "Before the year begins", "Quantity", "Unit", "Price each", "", "Amount")
    first = row + 1
    for part in budget.outlays:
        row += 1
        sheet.text(f"A{row}", part.label)
        sheet.number(f"B{row}", part.quantity, "input")
        sheet.text(f"C{row}", part.unit)
        sheet.number(f"D{row}", part.price, "input money")
        sheet.formula(f"F{row}", f"=B{row}*D{row}", part.quantity * part.price, "money")
    row += 1
    sheet.text(f"A{row}", "To buy first, in all", "sum")
    formula = f"=SUM(F{first}:F{row - 1})" if budget.outlays else "=0"
    sheet.formula(f"F{row}", formula, budget.outlay, "sum money")
    outlay = f"F{row}"
    running, row = _lines(sheet, row + 2, budget, "running", "Running costs", budget.running_per_year)
    capital, row = _lines(sheet, row + 2, budget, "capital", "Yearly share of what lasts", budget.capital_per_year)
    row += 2
    sheet.heads(row, "Totals", "", "", "", "", "Amount")
    years = budget.longest_life_years
    totals = (
        ("This year: what is bought first, and running costs", f"={outlay}+{running}", budget.first_year),
        ("A year over the life of the equipment", f"={running}+{capital}", budget.whole_per_year),
    )
    for label, formula, value in totals:
        row += 1
        sheet.text(f"A{row}", label, "sum")
        sheet.formula(f"F{row}", formula, value, "sum money")
    yearly = f"F{row}"
    row += 1
    sheet.text(f"A{row}", "Years looked ahead")
    sheet.number(f"B{row}", years, "input")
    span = f"B{row}"
    row += 1
    sheet.text(f"A{row}", "What these years are worth today", "sum")
    worth = f"={yearly}*IF(B6=0,{span},(1-(1+B6/100)^(-{span}))/(B6/100))"
    value = budget.whole_per_year / capital_recovery_factor(rate, years)
    sheet.formula(f"F{row}", worth, value, "sum money")
    sheet.freeze(3)


def _lines(sheet: Sheet, row: int, budget: Budget, sort: Sort, title: str, total: float) -> tuple[str, int]:
    """Write the lines of one sort with their sum; return the sum's cell and its row."""
    lasting = sort == "capital"
    sheet.heads(row, title, "Quantity", "Unit", "Price each", "Life, years" if lasting else "", "Amount a year")
    first = row + 1
    for line in budget.of_sort(sort):
        row += 1
        sheet.text(f"A{row}", line.line)
        sheet.number(f"B{row}", line.quantity, "input")
        sheet.text(f"C{row}", line.unit)
        sheet.number(f"D{row}", line.price, "input money")
        formula = f"=B{row}*D{row}"
        if line.life_years is not None:
            sheet.number(f"E{row}", line.life_years, "input")
            formula += f"*IF($B$6=0,1/E{row},($B$6/100)/(1-(1+$B$6/100)^(-E{row})))"
        sheet.formula(f"F{row}", formula, line.amount_per_year, "money")
    row += 1
    rounding = budget.capital_rounding if lasting else budget.running_rounding
    sheet.text(f"A{row}", "Rounding of single runs to whole cents", "soft")
    sheet.number(f"F{row}", rounding, "fine")
    row += 1
    sheet.text(f"A{row}", f"{title}, in all", "sum")
    sheet.formula(f"F{row}", f"=SUM(F{first}:F{row - 1})", total, "sum money")
    return f"F{row}", row


def _purchases(sheet: Sheet, folder: ResultFolder, budget: Budget) -> None:
    """Write what is bought in which month: first what is needed before the run, then the simulated orders."""
    sheet.widths(16, 44, 12, 12, 16)
    sheet.text("A1", "Purchases by month, means of the simulated runs", "title")
    sheet.heads(3, "Month", "What", "Quantity", "Gel, kg", f"Price, {budget.currency}")
    row = 3
    for part in budget.outlays:
        row += 1
        sheet.text(f"A{row}", "before the start")
        sheet.text(f"B{row}", part.label)
        sheet.number(f"C{row}", part.quantity, "amount")
        sheet.number(f"D{row}", part.gel_kg, "amount")
        sheet.number(f"E{row}", part.quantity * part.price, "money")
    orders = orders_by_month(folder, budget.plan)
    for cells in orders.to_dict("records"):
        row += 1
        sheet.text(f"A{row}", str(cells["month"]))
        sheet.text(f"B{row}", f"packets: {cells['packet']}")
        for letter, column, look in (("C", "packets", "amount"), ("D", "gel_kg", "amount"), ("E", "price", "money")):
            sheet.number(f"{letter}{row}", float(cells[column]), look)
    row += 1
    sheet.text(f"A{row}", "in all", "sum")
    if row == 4:
        sheet.text("B4", "nothing is bought")
        return
    totals = [
        sum(part.quantity for part in budget.outlays) + float(orders["packets"].sum()),
        sheet.column_total("D", 4, row - 1),
        budget.outlay + float(orders["price"].sum()),
    ]
    for letter, value in zip("CDE", totals, strict=True):
        look = "sum money" if letter == "E" else "sum amount"
        sheet.formula(f"{letter}{row}", f"=SUM({letter}4:{letter}{row - 1})", value, look)


def orders_by_month(folder: ResultFolder, plan: str) -> pd.DataFrame:
    """Packets, kilograms and price of the orders of each month and sort, means over replications."""
    orders = of_plan(folder.tables, "orders", plan)
    dated = orders.assign(month=orders["date"].str[:7])
    columns = ["packets", "gel_kg", "price"]
    return dated.groupby(["month", "packet"], sort=True)[columns].sum().div(folder.replications).reset_index()


def _hours(sheet: Sheet, folder: ResultFolder, budget: Budget) -> None:
    """Write hours worked by month and task, with sums both ways."""
    hours = hours_by_month(folder.tables, budget.plan, replications=folder.replications)
    tasks = [str(task) for task in hours.columns]
    sheet.widths(16, *(14 for _ in tasks), 14)
    sheet.text("A1", "Hours worked by month and task, means of the simulated runs", "title")
    sheet.heads(3, "Month", *(task.replace("_", " ") for task in tasks), "All")
    if not tasks:
        sheet.text("A4", "nobody works under this plan")
        return
    last = sheet.letter(len(tasks))
    whole = sheet.letter(len(tasks) + 1)
    row = 3
    for month, cells in zip(hours.index, hours.to_numpy().tolist(), strict=True):
        row += 1
        sheet.text(f"A{row}", str(month))
        for place, value in enumerate(cells, start=1):
            sheet.number(f"{sheet.letter(place)}{row}", float(value), "amount")
        sheet.formula(f"{whole}{row}", f"=SUM(B{row}:{last}{row})", float(sum(cells)), "amount")
    row += 1
    sheet.text(f"A{row}", "in all", "sum")
    totals = [*hours.sum(axis=0).tolist(), float(hours.to_numpy().sum())]
    for place, value in enumerate(totals, start=1):
        letter = sheet.letter(place)
        sheet.formula(f"{letter}{row}", f"=SUM({letter}4:{letter}{row - 1})", float(value), "sum amount")
    sheet.freeze(3)


def _assumptions(sheet: Sheet, folder: ResultFolder) -> None:
    """Write every input with where it comes from."""
    sheet.widths(22, 44, 22, 14, 60, 20, 70)
    sheet.text("A1", "What the numbers rest on", "title")
    sheet.heads(3, "Part", "Input", "Value", "Unit", "Meaning", "From", "In detail")
    for row, one in enumerate(inputs_of(folder), start=4):
        cells: tuple[Any, ...] = (one.section, one.key, one.value, one.unit, one.meaning, one.origin, one.detail)
        for letter, text in zip("ABCDEFG", cells, strict=True):
            sheet.text(f"{letter}{row}", str(text), "wrapped")
    sheet.freeze(3)
