"""A stress test in words: what hits hardest, what is lost and when it is recovered, and cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from simstore.prose.blocks import Block, Cell, Chart, Column, Data, Paragraph, Points, Table, num
from simstore.prose.cautions import cautions
from simstore.prose.phrases import NONE, begun, counted, listed, number, share_said
from simstore.results.folder import file_part
from simstore.statistics.intervals import MeanInterval
from simstore.study.stress.failures import Stress
from simstore.study.stress.losses import TOLERANCE_POINTS, UNDISTURBED, Loss, StressTest, drawn_metals
from simstore.units import DAYS_PER_WEEK

MOST_CHARTS: Final = 2
"""Charts of metal classes on the page, so that it stays small enough for an e-mail."""


def stress_blocks(found: StressTest) -> Iterator[Block]:
    """Say what a stress test found."""
    yield Paragraph(text=_answer(found))
    yield from _table(found)
    yield Points(points=[("", _one(found, stress)) for stress in found.stresses])
    for place, note in enumerate(found.notes):
        yield Paragraph(text=note, close=place > 0)
    yield Paragraph(text=_method(found))
    yield from cautions([(found.summary[UNDISTURBED], found.scenario.settings)])
    drawn = drawn_metals(found)
    if len(drawn) > MOST_CHARTS:
        less = counted(len(drawn) - MOST_CHARTS, "metal class", "metal classes")
        yield Paragraph(text=f"The charts of {less} less hit are in the folder of the study.", only="page")
    yield from (Chart(picture=chart_of_metal(metal)) for metal in drawn[:MOST_CHARTS])
    yield Data(table="stresses", caption="What goes wrong")
    yield Data(table="losses", caption="What it costs in held share")


def chart_of_metal(metal: str) -> str:
    """Name the chart of one metal class under stress."""
    return f"under_stress_{file_part(metal)}"


def metals_in_order(found: StressTest) -> list[str]:
    """Metal classes, lowest ceiling first."""
    metals = found.scenario.settings.metals
    return sorted({row.metal for row in found.losses}, key=lambda name: (metals[name].ceiling_rh_pct, name))


def _answer(found: StressTest) -> str:
    settings = found.scenario.settings
    worst = min(found.losses, key=lambda row: row.held.mean)
    if worst.held.mean >= 0:
        return f"Plan '{found.plan}' loses no object-day under any of these failures."
    label = next(stress.label for stress in found.stresses if stress.name == worst.stress)
    held = found.summary[worst.stress][f"held_pct.{worst.metal}"].estimate.mean
    base = found.summary[UNDISTURBED][f"held_pct.{worst.metal}"].estimate.mean
    standard = settings.metals[worst.metal].standard_pct
    broken = [
        stress.label
        for stress in found.stresses
        if any(
            found.summary[stress.name][f"held_pct.{metal}"].estimate.mean
            < settings.metals[metal].standard_pct
            <= found.summary[UNDISTURBED][f"held_pct.{metal}"].estimate.mean
            for metal in metals_in_order(found)
        )
    ]
    text = (
        f"Plan '{found.plan}' is hit hardest by: {label}. {worst.metal.capitalize()} is then held on "
        f"{share_said(held)} of object-days instead of {share_said(base)} (standard {standard:g} %)."
    )
    if base < standard:
        return f"{text} It misses that standard even undisturbed."
    if not broken:
        return f"{text} No failure alone breaks a standard."
    return f"{text} A standard that is kept undisturbed is broken by: {listed(broken)}."


def _span(lost: MeanInterval) -> str:
    if lost.rare_runs:
        return f"in {lost.rare_runs} run{'s' if lost.rare_runs > 1 else ''}"
    if math.isnan(lost.low):
        return ""
    return "always" if lost.rare_runs == 0 else f"{number(lost.low, 2)}..{number(lost.high, 2)}"


def _table(found: StressTest) -> Iterator[Table]:
    """Lay out what each failure costs each metal class, the lines of nothing left out."""
    rows = []
    spared = 0
    for stress in found.stresses:
        for metal in metals_in_order(found):
            row = found.loss(stress.name, metal)
            if round(row.held.mean, 2) == 0 and round(row.excess.mean) == 0:
                spared += 1
                continue
            span = _span(row.held)
            back = "never" if row.back_week is None else f"week {row.back_week + 1}"
            rows.append(
                [
                    Cell(begun(stress.label), short=stress.name),
                    Cell(found.scenario.settings.metals[metal].label, short=metal),
                    num(row.held.mean, 2),
                    Cell(span),
                    num(row.worst_points, 1),
                    num(row.excess.mean, 0),
                    Cell(back if row.worst_points > TOLERANCE_POINTS else NONE),
                    num(found.undone[stress.name], 1),
                ]
            )
    rest = f"; {counted(spared, 'pair')} of a failure and a metal that lose nothing not shown" if spared else ""
    columns = [
        Column("Failure", numeric=False, short="lost"),
        Column("Metal", numeric=False, short="metal"),
        Column("Held", "points", short="points held"),
        Column("Limits", "95 %", short="interval"),
        Column("Worst week", "points lost", only="page"),
        Column("Over the ceiling", "%RH days a year", short="%RH d/a"),
        Column("Over it", "from", short="back"),
        Column("Left undone", "jobs at the end", short="undone"),
    ]
    if rows:
        yield Table(caption=f"What each failure costs{rest}", columns=columns, rows=rows, sortable=True)


def _one(found: StressTest, stress: Stress) -> str:
    """Say of one failure what it does and when it is over."""
    label = begun(stress.label)
    felt = [found.loss(stress.name, metal) for metal in metals_in_order(found)]
    felt = [row for row in felt if row.worst_points > TOLERANCE_POINTS]
    when = ""
    if stress.last_day - stress.first_day + 1 < _days(found):
        when = f" from {found.scenario.settings.start + timedelta(days=stress.first_day)}"
    if not felt:
        return f"{label}{when}: no metal class loses more than {TOLERANCE_POINTS:g} points in any week."
    return f"{label}{when}: {'; '.join(_recovery(found, stress, row) for row in felt)}."


def _recovery(found: StressTest, stress: Stress, row: Loss) -> str:
    lost = f"{row.metal} loses up to {number(row.worst_points, 1)} points in a week"
    if row.back_week is None:
        return f"{lost} and has not recovered when the run ends"
    weeks = row.back_week - (stress.last_day + 1) / DAYS_PER_WEEK
    count = math.ceil(weeks)
    after = f", {count} week{'s' if count > 1 else ''} after the end of the failure" if count > 0 else ""
    week = found.scenario.settings.start + timedelta(days=row.back_week * DAYS_PER_WEEK)
    return f"{lost} and is back within {TOLERANCE_POINTS:g} points from {week}{after}"


def _days(found: StressTest) -> int:
    return len(found.runs[UNDISTURBED][0].loaded_kg)


def _method(found: StressTest) -> str:
    runs = found.replications
    text = (
        f"{runs} run{'s' if runs > 1 else ''} of each under the same luck as the undisturbed plan. Ovens and people "
        "fail when the undisturbed plan uses them most, the air handling when the room is expected to be dampest."
    )
    if runs > 1:
        text += f" The {2 * len(found.losses)} intervals of losses hold all together at 95 % (Bonferroni)."
    skewed = next((row.held.caution for row in found.losses if row.held.caution), "")
    return f"{text} Caution: {skewed}." if skewed else text
