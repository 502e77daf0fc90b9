"""A stress test as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simstore.study.stress.losses import StressTest

if TYPE_CHECKING:
    import pandas as pd


def tables_of(found: StressTest) -> dict[str, pd.DataFrame]:
    """Make the tables: losses, and the share held in each week."""
    import pandas as pd

    losses = pd.DataFrame(
        [
            (
                row.stress, row.metal, row.held.mean, row.held.low, row.held.high, row.excess.mean, row.excess.low,
                row.excess.high, row.worst_points, np.nan if row.back_week is None else float(row.back_week),
                found.undone[row.stress],
            )
            for row in found.losses
        ],
        columns=[
            "stress", "metal", "held_points", "held_points_low", "held_points_high", "excess_pct_days",
            "excess_pct_days_low", "excess_pct_days_high", "worst_week_points", "back_week", "undone_more",
        ],
    )  # fmt: skip
    weeks = pd.concat(
        [
            pd.DataFrame({"stress": case, "metal": metal, "week": np.arange(len(held)), "held_pct": held})
            for case in found.runs
            for metal in found.runs[case][0].week_held
            for held in [found.week_held(case, metal)]
        ],
        ignore_index=True,
    )
    return {"stresses": pd.DataFrame(found.stresses), "losses": losses, "weeks": weeks}


def spans_table(found: StressTest) -> pd.DataFrame:
    """Lay out when each failure lasts, for the chart."""
    import pandas as pd

    return pd.DataFrame(found.stresses).rename(columns={"name": "stress"})
