"""What the plan costs, line by line; the workbook has the same lines with formulas."""

from __future__ import annotations

from simstore.money.costs import Sort
from simstore.prose.blocks import Block, Cell, Column, Paragraph, Section, Table, num
from simstore.prose.phrases import NBSP, begun, figures, money_said
from simstore.results.budget import Budget


def money_section(budget: Budget) -> Section:
    """List the budget: before the year begins, every year, and the yearly share of what lasts."""
    currency = budget.currency
    columns = [
        Column("For what", numeric=False),
        Column("Quantity"),
        Column("Unit", numeric=False),
        Column("Price", f"{currency} a unit"),
        Column("Life", "years"),
        Column("Amount", f"{currency} a year"),
    ]
    blocks: list[Block] = [
        Paragraph(
            text="Means over the simulated runs. The workbook budget.xlsx holds these lines as formulas: change "
            "prices, hours, the discount rate or lives there, and its totals follow."
        )
    ]
    if budget.outlays:
        blocks.append(
            Table(
                caption=f"To buy before the year begins ({currency})",
                columns=[columns[0], columns[1], Column("Price", f"{currency} each"), Column("Amount", currency)],
                rows=[
                    *(
                        [
                            Cell(begun(part.label)),
                            num(part.quantity),
                            num(part.price, 2),
                            num(part.quantity * part.price, 2),
                        ]
                        for part in budget.outlays
                    ),
                    [Cell("In all"), Cell(""), Cell(""), num(budget.outlay, 2)],
                ],
                total=True,
            )
        )
    sorts: tuple[tuple[Sort, str, float], ...] = (
        ("running", "Running costs of a year", budget.running_per_year),
        ("capital", "Equal yearly share of what lasts, whether it is there already or not", budget.capital_per_year),
    )
    for sort, caption, total in sorts:
        rows = [
            [
                Cell(begun(line.line)),
                num(line.quantity, 0 if line.quantity == round(line.quantity) else 1) if line.unit else Cell(""),
                Cell(line.unit),
                num(line.price, 2) if line.unit else Cell(""),
                num(line.life_years) if line.life_years is not None else Cell("–"),
                num(line.amount_per_year, 2),
            ]
            for line in budget.of_sort(sort)
        ]
        rows.append([Cell("In all"), *[Cell("")] * 4, num(total, 2)])
        blocks.append(Table(caption=caption, columns=columns, rows=rows, total=True))
    years = budget.longest_life_years
    blocks.append(
        Paragraph(
            text=f"Together {money_said(budget.whole_per_year, currency, 2)} a year at a discount rate of "
            f"{figures(budget.discount_pct)}{NBSP}% a year. Over {figures(years)} years, the longest life of the "
            f"equipment, that is worth {money_said(budget.present_value(years), currency, 2)} today. Inflation, tax "
            "and grants are left out."
        )
    )
    return Section(name="money", title="What it costs", blocks=blocks)
