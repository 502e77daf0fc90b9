"""Ready stock by cadence: which combinations meet the standard."""

from __future__ import annotations

import numpy as np
import pandas as pd

from simstore.prose.phrases import begun, figures, number, percent
from simstore.report.charts import style
from simstore.report.charts.picture import Picture


def cadence_and_stock(grid: pd.DataFrame, *, standard_pct: float, what: str, source: str = "") -> Picture:
    """Draw which combinations of cadence and ready stock meet the standard.

    Parameters
    ----------
    grid : DataFrame
        One row a combination: ``cadence_weeks``, ``ready_packets`` (stock at the start), ``held_pct`` (mean share of
        object-days held, %), ``meets`` (bool, at the stated confidence).
    standard_pct : float
        Share of object-days that must be held. [%]
    what, source : str
    """
    title = _region_finding(grid, standard_pct, what)
    wide = grid.pivot_table(index="ready_packets", columns="cadence_weeks", values="held_pct").sort_index()
    meets = grid.assign(ok=grid["meets"].astype("float64"))
    ok = meets.pivot_table(index="ready_packets", columns="cadence_weeks", values="ok", aggfunc="min").sort_index()
    with style.look():
        height_in = max(1.2, 0.32 * len(wide))
        sheet = style.Sheet(
            title,
            body_in=0.1 + height_in + 0.55,
            explained=f"Share of {what} object-days held, %; dark cells meet the standard of {percent(standard_pct)}.",
            source=source,
        )
        axes = sheet.axes(left_in=0.75, top_in=0.1, width_in=style.WIDTH_IN - 0.75 - 0.1, height_in=height_in)
        for row, packets in enumerate(wide.index):
            for column, weeks in enumerate(wide.columns):
                value, good = float(wide.loc[packets, weeks]), bool(ok.loc[packets, weeks] == 1.0)
                if np.isnan(value):
                    continue
                axes.fill_between(
                    [column + 0.03, column + 0.97], row + 0.04, row + 0.96, color=style.PETROL if good else "#f1f3f5",
                    linewidth=0,
                )  # fmt: skip
                axes.text(
                    column + 0.5, row + 0.5, _held_said(value, standard_pct), ha="center",
                    va="center", fontsize=style.SMALL_PT, color="white" if good else style.GREY,
                    fontweight="bold" if good else "normal",
                )  # fmt: skip
        axes.set_xlim(0, len(wide.columns))
        axes.set_ylim(0, len(wide))
        axes.set_xticks(
            np.arange(len(wide.columns)) + 0.5, [number(float(str(w)), 1).removesuffix(".0") for w in wide.columns]
        )
        axes.set_yticks(np.arange(len(wide)) + 0.5, [number(float(str(p))) for p in wide.index])
        axes.tick_params(length=0)
        axes.spines[:].set_visible(False)
        axes.set_xlabel("weeks between exchanges or rounds")
        axes.set_ylabel("ready packets")
    return Picture("cadence_and_stock", title, f"Held share by cadence and ready stock. {title}.", sheet.figure, grid)


def _held_said(held_pct: float, standard_pct: float) -> str:
    """Write a share with one decimal, or with as many as it needs to differ from the standard."""
    decimals = 1
    while decimals < 4 and held_pct != standard_pct and round(held_pct, decimals) == round(standard_pct, decimals):
        decimals += 1
    return number(held_pct, decimals)


def _region_finding(grid: pd.DataFrame, standard_pct: float, what: str) -> str:
    good = grid[grid["meets"].astype(bool)]
    if good.empty:
        return f"No combination of cadence and ready stock holds {what} on {percent(standard_pct)} of object-days"
    slowest = good.loc[good["cadence_weeks"] == good["cadence_weeks"].max()]
    weeks = figures(float(slowest["cadence_weeks"].iloc[0]))
    packets = number(float(slowest["ready_packets"].min()))
    return f"{begun(what)} is held with up to {weeks} weeks between exchanges, if {packets} packets stand ready"
