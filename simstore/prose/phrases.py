"""Numbers, shares, amounts and months as they are said, with a true minus and spaces that do not break."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from simstore.scenario.values.settings import Settings

NBSP: Final = "\u00a0"
MINUS: Final = "\u2212"
NONE: Final = "\u2013"
"""Stands where there is no number."""
MONTHS: Final = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def number(value: float, decimals: int = 0, *, sign: bool = False) -> str:
    """``value`` with spaces between thousands and a true minus sign; ``sign`` also shows the plus; a dash for NaN."""
    if math.isnan(value):
        return NONE
    rounded = round(float(value), decimals)
    text = f"{abs(rounded):,.{decimals}f}".replace(",", NBSP)
    if rounded < 0:
        return f"{MINUS}{text}"
    return f"+{text}" if sign and rounded > 0 else text


def figures(value: float, digits: int = 2, *, sign: bool = False) -> str:
    """``value`` to ``digits`` significant figures, but never less exact than whole numbers; without end zeros."""
    if value == 0 or not math.isfinite(value):
        return number(0.0) if value == 0 else "unknown"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return _without_end_zeros(number(value, min(decimals, 6), sign=sign))


def _without_end_zeros(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_unit(text: str, unit: str) -> str:
    """Join a number and its unit, which may be empty, so that they stay on one line."""
    return f"{text}{NBSP}{unit}" if unit else text


def percent(share_pct: float, *, beside: float | None = None) -> str:
    """Say a share as "6.3 %", as exact as it needs to differ from 0, from 100, and from one ``beside`` it."""
    bounds = [0.0, 100.0] + ([] if beside is None else [beside])
    decimals = 1 if share_pct < 10 or share_pct > 90 else 0
    while decimals < 6 and any(
        share_pct != bound and round(share_pct, decimals) == round(bound, decimals) for bound in bounds
    ):
        decimals += 1
    return f"{_without_end_zeros(number(share_pct, decimals))}{NBSP}%"


def share_said(share_pct: float) -> str:
    """Say a share with two decimals, cut and not rounded, so that it never seems better than it is."""
    return f"{number(math.floor(100 * share_pct + 1e-9) / 100, 2)}{NBSP}%"


def share_limits_said(low_pct: float, high_pct: float) -> str:
    """Say the limits of a share, rounded outwards to two decimals, and within 0 and 100 %."""
    least = math.floor(100 * max(low_pct, 0.0) + 1e-9) / 100
    most = math.ceil(100 * min(high_pct, 100.0) - 1e-9) / 100
    return f"{number(least, 2)} to {number(most, 2)}"


def money_said(amount: float, currency: str, decimals: int = 0) -> str:
    """Say an amount as "EUR 4 937"."""
    return f"{currency}{NBSP}{number(amount, decimals)}"


def listed(items: Sequence[str]) -> str:
    """Join as in "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def some_named(names: Sequence[str], most: int = 5) -> str:
    """Name the first few, and count the rest."""
    if len(names) <= most:
        return listed(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"


def times_said(what: str, count: int) -> str:
    """Say how often something is done: "load oven once", "load oven 3 times"."""
    return f"{what} once" if count == 1 else f"{what} {count} times"


def begun(text: str) -> str:
    """``text`` with a capital first letter, as at the beginning of a sentence."""
    return text[:1].upper() + text[1:]


def runs_said(years: int, count: int) -> str:
    """Say what is counted, where one run simulates so many years: "years", or "runs of 5 years"."""
    one, many = ("year", "years") if years == 1 else (f"run of {years} years", f"runs of {years} years")
    return one if count == 1 else many


def counted(count: int, noun: str, plural: str = "") -> str:
    """Say "1 day" or "3 days"."""
    return f"{number(count)}{NBSP}{noun if count == 1 else plural or noun + 's'}"


def months_said(chosen: Sequence[int], *, first: int | None = None) -> str:
    """Say which months (1..12): "in July", "from July to October", "from November to February", "all year".

    Months are joined over the turn of the year, but not over the beginning of a single year that starts in month
    ``first``; more than two separate spells become a count.
    """
    wanted = set(chosen)
    if len(wanted) == 12:
        return "all year"
    begin = first or 1
    starts = [m for m in sorted(wanted, key=lambda m: (m - begin) % 12) if (m - 2) % 12 + 1 not in wanted or m == first]
    spells = []
    for start in starts:
        end = start
        while end % 12 + 1 in wanted and end % 12 + 1 != first:
            end = end % 12 + 1
        name = MONTHS[start - 1]
        spells.append(f"in {name}" if start == end else f"from {name} to {MONTHS[end - 1]}")
    if len(spells) > 2:
        return f"in {len(wanted)} of 12 months"
    return listed(spells)


def plan_said(settings: Settings, plan: str) -> str:
    """Name a plan with its label, as a sentence."""
    known = settings.plans.get(plan)
    return f"Plan {plan} ({known.label})." if known is not None and known.label != plan else f"Plan {plan}."


def source_line(title: str, note: str, *, replications: int = 1) -> str:
    """Write the small line at the foot of a chart: which store, how many runs, and the note on its data."""
    parts = [title, "One simulated run" if replications == 1 else f"Mean of {replications} simulated runs"]
    if note:
        parts.append(note.rstrip("."))
    return begun(". ".join(parts)) + "."
