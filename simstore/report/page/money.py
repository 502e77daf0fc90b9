"""What the plan costs, line by line; the workbook has the same lines with formulas."""

from __future__ import annotations

from simstore.money.costs import Sort
from simstore.prose.phrases import NBSP, begun, figures
from simstore.report.page.parts import Block, Cell, Head, Names, Section, Table, Text, money, num
from simstore.results.budget import Budget


def money_section(budget: Budget, names: Names) -> Section:
    """List the budget: before the year begins, every year, and the yearly share of what lasts."""
    currency = budget.currency
    heads = [
        Head("For what", numeric=False),
        Head("Quantity"),
        Head("Unit", numeric=False),
        Head("Price", f"{currency} a unit"),
        Head("Life", "years"),
        Head("Amount", f"{currency} a year"),
    ]
    blocks: list[Block] = [
        Text(
            text="Means over the simulated runs. The workbook budget.xlsx holds these lines as formulas: change "
            "prices, hours, the discount rate or lives there, and its totals follow."
        )
    ]
    if budget.outlays:
        blocks.append(
            Table(
                id=names.of("outlay"),
                caption=f"To buy before the year begins ({currency})",
                heads=[heads[0], heads[1], Head("Price", f"{currency} each"), Head("Amount", currency)],
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
                last_is_sum=True,
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
        blocks.append(Table(id=names.of(f"costs-{sort}"), caption=caption, heads=heads, rows=rows, last_is_sum=True))
    years = budget.longest_life_years
    blocks.append(
        Text(
            text=f"Together {money(budget.whole_per_year, currency, 2)} a year at a discount rate of "
            f"{figures(budget.discount_pct)}{NBSP}% a year. Over {figures(years)} years, the longest life of the "
            f"equipment, that is worth {money(budget.present_value(years), currency, 2)} today. Inflation, tax and "
            "grants are left out."
        )
    )
    return Section(id=names.of("money"), title="What it costs", blocks=blocks)
