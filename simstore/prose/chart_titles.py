"""What a year came to, said in one sentence: the titles of the charts of the year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import pandas as pd

from simstore.prose.phrases import NBSP, begun, counted, figures, months_said, number, percent
from simstore.scenario.values.settings import Settings

ROUND_OFF_PCT: Final = 1e-9
LEAST_DAYS_OF_MONTH: Final = 7
"""A month of which the run has fewer days than this is not named, as at the end of a run that starts on the 4th."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalYear:
    """How one metal class fared, over all replications.

    Attributes
    ----------
    over_pct : float
        Share of object-days over the ceiling. [%]
    month_over_pct : dict of int to float
        The same in each month (1..12) of the run. [%]
    first_month : int or None
        Month in which a run of at most one year begins; None for longer runs, where years follow on one another.
    """

    metal: str
    label: str
    ceiling_rh_pct: float
    allowed_pct: float
    over_pct: float
    month_over_pct: dict[int, float]
    first_month: int | None = None

    @property
    def fails(self) -> bool:
        """Whether more object-days are over than the standard allows."""
        return self.over_pct > self.allowed_pct + ROUND_OFF_PCT


def metal_years(pooled: pd.DataFrame, enclosures: pd.DataFrame, settings: Settings) -> list[MetalYear]:
    """Shares of object-days over the ceiling, by metal class, lowest ceiling first.

    Parameters
    ----------
    pooled : DataFrame
        Days by metal and form, means over replications (see :func:`simstore.results.pooled.rh_days`): for the months.
    enclosures : DataFrame
        That table of the results, one plan: for the share of the whole run, as in the summary.
    """
    forms = enclosures["kind"].map({name: kind.form for name, kind in settings.kinds.items()})
    keys = ["metal", "form"]
    objects = enclosures.assign(form=forms).groupby(keys)["objects"].sum()
    weighed = pooled[[*keys, "day", "date", "over_pct"]].dropna(subset=["over_pct"])
    weighed = weighed.merge(objects.rename("objects").reset_index(), on=keys, how="inner")
    weighed = weighed.assign(over=weighed["over_pct"] * weighed["objects"])
    counted = enclosures["days"] if "days" in enclosures.columns else 1
    object_days = enclosures.assign(object_days=enclosures["objects"] * counted).dropna(subset=["held_pct"])
    object_days = object_days.assign(over=(100.0 - object_days["held_pct"]) * object_days["object_days"])
    overall = object_days.groupby("metal")[["over", "object_days"]].sum()
    found = []
    for name in sorted(
        set(weighed["metal"]) & set(overall.index), key=lambda m: (settings.metals[m].ceiling_rh_pct, m)
    ):
        rows = weighed[weighed["metal"] == name]
        monthly = _named_months(rows)
        metal = settings.metals[name]
        found.append(
            MetalYear(
                metal=name,
                label=metal.label,
                ceiling_rh_pct=metal.ceiling_rh_pct,
                allowed_pct=100.0 - metal.standard_pct,
                over_pct=float(overall["over"][name] / max(overall["object_days"][name], 1)),
                first_month=settings.start.month if int(pooled["day"].max()) < 366 else None,
                month_over_pct={int(str(m)): float(v) for m, v in (monthly["over"] / monthly["objects"]).items()},
            )
        )
    return found


def _named_months(rows: pd.DataFrame) -> pd.DataFrame:
    """Sum ``over`` and ``objects`` by month (1..12), without months that the run hardly touches."""
    by_month = rows.assign(year_month=rows["date"].str[:7]).groupby("year_month")
    sums = by_month.agg(over=("over", "sum"), objects=("objects", "sum"), days=("day", "nunique"))
    long = sums[sums["days"] >= LEAST_DAYS_OF_MONTH]
    kept = sums if long.empty else long
    months = pd.Index([int(str(name)[5:7]) for name in kept.index], name="month")
    return kept.set_axis(months).groupby(level=0)[["over", "objects"]].sum()


def ceiling_said(year: MetalYear) -> str:
    """Say the ceiling with its unit, as "15 %RH"."""
    return f"{number(year.ceiling_rh_pct, 1).removesuffix('.0')}{NBSP}%RH"


def rh_finding(years: Sequence[MetalYear]) -> str:
    """Which metals pass their ceilings for longer than their standards allow, when, and by how much."""
    failing = sorted((y for y in years if y.fails), key=lambda y: y.allowed_pct - y.over_pct)
    if not failing:
        worst = max(years, key=lambda y: y.over_pct)
        if worst.over_pct == 0.0:
            return "No metal class passes its ceiling on any day of the run"
        return (
            f"Every metal class meets its standard; {worst.label} comes closest, with {percent(worst.over_pct)} of "
            f"object-days over its {ceiling_said(worst)} ceiling ({percent(worst.allowed_pct, beside=worst.over_pct)} "
            "allowed)"
            if len(years) > 1
            else f"{begun(worst.label)} meets its standard: {percent(worst.over_pct)} of object-days over its "
            f"{ceiling_said(worst)} ceiling ({percent(worst.allowed_pct, beside=worst.over_pct)} allowed)"
        )
    said: list[str] = []
    for year in failing[:2]:
        late = [month for month, over in year.month_over_pct.items() if over > year.allowed_pct + ROUND_OFF_PCT]
        late = late or [max(year.month_over_pct, key=lambda month: year.month_over_pct[month])]
        verb = "" if said else "passes "
        when = months_said(late, first=year.first_month)
        said.append(
            f"{year.label} {verb}its {ceiling_said(year)} ceiling {when} "
            f"({percent(year.over_pct, beside=year.allowed_pct)} {'' if said else 'of object-days '}over, "
            f"{percent(year.allowed_pct, beside=year.over_pct)}{NBSP}allowed)"
        )
    if len(failing) == 1:
        only = said[0].replace(" (", ": ").removesuffix(")")
        return begun(only)
    more = f", and {counted(len(failing) - 2, 'more class fails', 'more classes fail')}" if len(failing) > 2 else ""
    return begun(", ".join(said)) + more


def weeks_finding(passed: Sequence[tuple[str, float, int]], replications: int) -> str:
    """How many enclosures of each metal ever passed their ceiling.

    Parameters
    ----------
    passed : sequence of (label, enclosures that passed, enclosures)
        The count of those that passed is a mean over ``replications``.
    """
    total = sum(count for _, count, _ in passed)
    everything = sum(all_ for _, _, all_ in passed)
    if total == 0:
        return f"None of {number(everything)} enclosures ever passed its ceiling"
    shown = [(label, count, all_) for label, count, all_ in passed if count > 0]
    parts: list[str] = []
    for label, count, all_ in shown:
        some = f"on average {figures(count)}" if replications > 1 else number(count)
        what = "" if parts else " enclosures passed their ceiling at some time"
        parts.append(f"{label}: {some} of {number(all_)}{what}")
    return begun("; ".join(parts))


def work_finding(*, out_days: float, least_ready: int | None, oven_busy_pct: float | None, staff_pct: float) -> str:
    """Whether dry packets ran out, and how far oven and people are used.

    Parameters
    ----------
    out_days : float
        Days of the run that ended without a ready packet of some sort, mean over replications.
    least_ready : int or None
        Fewest ready packets of any sort at the end of a day, in any replication; None without stock.
    oven_busy_pct, staff_pct : float
        Share of the clock that ovens are taken (None without ovens), and of session hours that staff work. [%]
    """
    used = f"staff work {percent(staff_pct)} of their session hours"
    if oven_busy_pct is not None:
        used = f"ovens are taken {percent(oven_busy_pct)} of the time, {used}"
    if least_ready is None:
        return begun(used)
    if out_days > 0:
        return f"Dry packets run out on {figures(out_days)} days of the run; {used}"
    return f"Dry packets never run out (least {counted(least_ready, 'packet')}); {used}"
