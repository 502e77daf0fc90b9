"""What changing over to a plan costs, what it wears out, and when a dearer beginning has paid for itself."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.money.changeover import HORIZON_YEARS
from simstore.money.costs import REHOUSE_MIN
from simstore.prose.blocks import Block, Cell, Column, Paragraph, Table, num
from simstore.prose.phrases import begun, number
from simstore.scenario.values.settings import Settings
from simstore.study.compare.comparison import BreakEven, Comparison


def changing_over(comparison: Comparison) -> Iterator[Block]:
    """Lay out what changing over costs, and say when it has paid for itself; nothing if no plan changes anything."""
    settings = comparison.scenario.settings
    if any(change.outlay for change in comparison.changeovers.values()):
        yield _outlays(comparison)
    for row in comparison.break_even:
        if row.dearer:
            yield Paragraph(text=break_even_said(row, settings))


def _outlays(comparison: Comparison) -> Table:
    currency = comparison.scenario.settings.prices.currency
    return Table(
        caption=f"What changing over costs ({currency})",
        columns=[
            Column("Plan", numeric=False, short=f"changing over, {currency}", most=28),
            *(Column(begun(head), short=head) for head in ("moved", "hours", "labour", "goods", "in all")),
        ],
        rows=[
            [
                Cell(plan),
                num(change.moved, 0),
                num(change.labour_h + change.test_h, 0),
                num(change.labour_price + change.test_price, 0),
                num(change.goods_price, 0),
                num(change.outlay, 0),
            ]
            for plan, change in comparison.changeovers.items()
        ],
    )


def purchases(comparison: Comparison) -> Table:
    """Lay out what each plan starts with, buys and wears out."""
    currency = comparison.scenario.settings.prices.currency
    return Table(
        caption="What each plan starts with and wears out; the price holds the labour of putting it to use",
        columns=[
            Column("Plan", numeric=False),
            Column("What", numeric=False),
            Column("Count"),
            Column("Price", f"{currency} each"),
            Column("Life", "years"),
            Column("At the start", numeric=False),
        ],
        rows=[
            [
                Cell(plan),
                Cell(begun(line.what)),
                num(line.count, 0),
                num(line.unit_price, 2),
                num(line.life_years, 0),
                Cell("bought" if line.bought else "there"),
            ]
            for plan, change in comparison.changeovers.items()
            for line in change.purchases
        ],
        sortable=True,
        only="page",
    )


def break_even_said(row: BreakEven, settings: Settings) -> str:
    """Say when the dearer beginning has paid for itself."""
    currency = settings.prices.currency
    beginning = f"Plan '{row.dearer}' costs {number(row.more, 0)} {currency} more to begin with than '{row.other}'"
    worn = f"wear of boxes, bags and ovens, {_rehousing(settings)} to replace one, and leak tests counted"
    if row.year is None and row.soonest is None and row.latest is None:
        return f"{beginning}, and does not pay for itself within {HORIZON_YEARS} years ({worn})."
    ends = [_year_said(year) for year in (row.soonest, row.latest)]
    span = f" (interval: {ends[0]} to {ends[1]})" if ends[0] != ends[1] else ""
    when = f"in year {row.year}" if row.year is not None else f"not within {HORIZON_YEARS} years on the mean"
    return (
        f"{beginning}; it has paid for itself {when}{span}, at "
        f"{settings.prices.discount_pct_per_year:g} % a year, {worn}."
    )


def _year_said(year: int | None) -> str:
    return f"beyond {HORIZON_YEARS}" if year is None else str(year)


def _rehousing(settings: Settings) -> str:
    minutes = {programme.rehouse_min for programme in settings.programmes.values()} or {REHOUSE_MIN}
    return f"{'-'.join(f'{value:g}' for value in sorted(minutes))} min"
