"""A sensitivity study in words: what to measure first and what that is worth, the ranking, and how it was found."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from simstore.prose.blocks import Block, Cell, Chart, Column, Data, Paragraph, Table, num
from simstore.prose.phrases import begun, figures, number
from simstore.study.sensitivity.effects import BASE, COST, Sensitivity
from simstore.study.sensitivity.inputs import Input
from simstore.study.sensitivity.knowing import Knowing

LABEL_WIDTH: Final = 34
PLAN_WIDTH: Final = 16


def sensitivity_blocks(found: Sensitivity) -> Iterator[Block]:
    """Say what a sensitivity study found."""
    yield Paragraph(text=_answer(found))
    yield from _ranking(found)
    yield from _knowing(found)
    yield from _screening(found)
    yield Paragraph(text=_method(found))
    for note in found.notes:
        yield Paragraph(text=note, close=True)
    yield Chart(picture="what_to_measure_held")
    yield Chart(picture="what_to_measure_cost")
    yield Data(table="inputs", caption="Inputs that are uncertain")
    yield Data(table="effects", caption="How far each moves the result")
    yield Data(table="screening", caption="Screening of all inputs together")


def _answer(found: Sensitivity) -> str:
    first = found.first_to_measure
    if first is not None:
        one = _input(found, first.name)
        ends = [
            f"'{plan}' at {figures(value, 4)} {one.unit}".rstrip()
            for plan, value in (
                (first.at_low, one.stated.low),
                (first.in_use, one.in_use),
                (first.at_high, one.stated.high),
            )
            if plan != first.now
        ]
        return (
            f"Measure this first: {one.label}. Knowing it is worth {worth(found, first)}, because another plan than "
            f"'{first.now}' would be chosen: {' and '.join(ends)}."
        )
    mover = max(found.inputs, key=lambda one: found.swing(one.name, found.metrics[0]))
    swing = found.swing(mover.name, found.metrics[0])
    if swing == 0:
        mover = max(found.inputs, key=lambda one: found.swing(one.name, COST))
        currency = found.scenario.settings.prices.currency
        moved = f"the cost of '{found.plan}' most, by {number(found.swing(mover.name, COST), 0)} {currency} a year"
    else:
        moved = f"the held share of {found.metal} under '{found.plan}' most, by {number(swing, 2)} points"
    text = f"{begun(mover.label)} moves {moved}"
    if found.knowing:
        return f"{text}; but {_nothing_gained(found.knowing)} ('{found.knowing[0].now}')."
    return f"{text}."


def _nothing_gained(knowing: Sequence[Knowing]) -> str:
    """Say that knowing is worth nothing, of the inputs whose worth was worked out and of no others."""
    count = len(knowing)
    if any(row.changes_decision for row in knowing):
        which = "the input that moves most" if count == 1 else f"any of the {count} inputs that move most"
        return f"knowing {which} gains nothing over the plan that is chosen now"
    if count == 1:
        return "the input that moves most does not change which plan is chosen"
    return f"none of the {count} inputs that move most changes which plan is chosen"


def worth(found: Sensitivity, row: Knowing) -> str:
    """Say what knowing an input is worth, in object-days and money."""
    currency = found.scenario.settings.prices.currency
    if not math.isnan(row.in_all):
        return f"{number(max(row.in_all, 0.0), 2)} {currency} a year, harm counted"
    days = f"{number(row.object_days, 0)} object-days over a year that are avoided" if round(row.object_days) else ""
    money = ""
    if round(row.money) > 0:
        money = f"{number(row.money, 0)} {currency} a year"
    elif round(row.money) < 0:
        money = f"for {number(-row.money, 0)} {currency} a year more"
    joined = " and ".join if row.money > 0 else " ".join
    return joined(part for part in (days, money) if part) or "less than 1 object-day or unit of money a year"


def _input(found: Sensitivity, name: str) -> Input:
    return next(one for one in found.inputs if one.name == name)


def _ranking(found: Sensitivity) -> Iterator[Block]:
    """Lay out all inputs, those that move the held share most first."""
    held, cost = found.metrics
    currency = found.scenario.settings.prices.currency
    order = sorted(found.inputs, key=lambda one: (-round(found.swing(one.name, held), 3), -found.swing(one.name, cost)))
    rows = []
    for one in order:
        moved = [
            num(found.effect(one.name, end, metric).difference.mean, decimals)
            for metric, decimals in ((held, 2), (cost, 0))
            for end in ("low", "high")
        ]
        rows.append([Cell(one.label), _end(one.stated.low), _end(one.stated.high), *moved])
    yield Table(
        caption="How far each input moves the result",
        columns=[
            Column("Input", numeric=False, short="input", most=LABEL_WIDTH),
            Column("Low end", short="low"),
            Column("High end", short="high"),
            Column(f"{begun(found.metal)} held", "points, at the low end", short="held -"),
            Column(f"{begun(found.metal)} held", "points, at the high end", short="held +"),
            Column("Cost", f"{currency} a year, at the low end", short=f"{currency} -"),
            Column("Cost", f"{currency} a year, at the high end", short=f"{currency} +"),
        ],
        rows=rows,
        sortable=True,
    )
    yield Paragraph(
        text=f"Change of the {found.metal} object-days held (points) and of the cost ({currency} a year) at the low "
        "(-) and the high end (+), against the values in use.",
        only="terminal",
        close=True,
    )


def _end(value: float) -> Cell:
    return Cell(figures(value, 4), f"{value:.10g}")


def _knowing(found: Sensitivity) -> Iterator[Block]:
    if not found.knowing:
        return
    currency = found.scenario.settings.prices.currency
    yield Table(
        caption="Which plan to choose, and what knowing the input first is worth",
        columns=[
            Column("Input", numeric=False, short="worth of knowing, a year", most=LABEL_WIDTH),
            Column("Saved", "object-days a year", short="object-days"),
            Column("Saved", f"{currency} a year", short=currency),
            Column("Best plan", "at its low end", numeric=False, short="plan at low", most=PLAN_WIDTH),
            Column("Best plan", "without knowing", numeric=False, only="page"),
            Column("Best plan", "at its high end", numeric=False, short="at high", most=PLAN_WIDTH),
        ],
        rows=[
            [
                Cell(_input(found, row.name).label),
                num(row.object_days, 0),
                num(row.money, 0),
                Cell(row.at_low),
                Cell(row.now),
                Cell(row.at_high),
            ]
            for row in found.knowing
        ],
        sortable=True,
    )
    yield Paragraph(text=_chosen_without(found), close=True)


def _choice_said(found: Sensitivity) -> str:
    if found.scenario.settings.prices.harm_per_object_day is not None:
        return "cheapest with what it falls short counted in money"
    return "cheapest that falls short of no standard, else the one that falls short least"


def _chosen_without(found: Sensitivity) -> str:
    """Say what is chosen without knowing, and at what price of harm if there is one."""
    plans = dict.fromkeys(row.now for row in found.knowing)
    chosen = " or ".join(f"'{plan}'" for plan in plans)
    text = f"Without knowing, the best in the mean over an input's range is {chosen}."
    prices = found.scenario.settings.prices
    if prices.harm_per_object_day is not None:
        text += (
            f" An object-day over the limit is counted as {number(prices.harm_per_object_day, 2)} {prices.currency} "
            "(the scenario's prices.harm_per_object_day)."
        )
    return text


def _screening(found: Sensitivity) -> Iterator[Block]:
    """Lay out the elementary effects; nothing if there was no screening."""
    if not found.screened:
        return
    effects = [screened.effects for screened in found.screened]
    order = sorted(range(len(found.inputs)), key=lambda place: -float(effects[0].mean_absolute[place]))
    rows = []
    for place in order:
        cells = [Cell(found.inputs[place].label)]
        for one, decimals in zip(effects, (2, 0), strict=True):
            cells += [num(float(one.mean_absolute[place]), decimals), num(float(one.spread[place]), decimals)]
        rows.append(cells)
    yield Table(
        caption="Screening of all inputs together",
        columns=[
            Column("Input", numeric=False, short="all moved together", most=LABEL_WIDTH),
            *(
                Column(begun(metric), part, short=f"{metric} {part}")
                for metric in ("held", "cost")
                for part in ("mean", "spread")
            ),
        ],
        rows=rows,
    )
    yield Paragraph(
        text="Mean absolute effect over the whole range, and its spread: a large spread means bends or joint effects.",
        close=True,
    )


def _method(found: Sensitivity) -> str:
    runs = found.replications
    own = sum(not one.default for one in found.inputs)
    text = (
        f"{runs} run{'s' if runs > 1 else ''} at each end of each range, all others as in use, under the same luck; "
        f"{own} of {len(found.inputs)} ranges are the scenario's own, the others are common ones to be replaced "
        "(inputs.csv). A range leaves out one chance in ten at each end."
    )
    if found.knowing:
        text += (
            f" The worth of knowing was worked out for the {len(found.knowing)} inputs that move most: the plan is the "
            f"{_choice_said(found)}; without knowing it is the best of the means, with both ends weighing 0.3."
        )
    caution = next((row.difference.caution for row in found.effects if row.difference.caution), "")
    base = found.summary[BASE][found.metrics[0]].estimate
    if not math.isnan(base.low) and caution:
        text += f" Caution: {caution}."
    return text
