"""A sweep as a table, and as the rows of its charts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from simstore.results.judged import total_excess
from simstore.statistics.estimate import mean_interval
from simstore.study.sweep.front import SweepJudged
from simstore.study.sweep.grid import Sweep, said
from simstore.units import DAYS_PER_WEEK, DAYS_PER_YEAR

if TYPE_CHECKING:
    import pandas as pd


def points_table(found: Sweep, judged: SweepJudged) -> pd.DataFrame:
    """Lay out one row a point: keys, whether it meets and is on the front, then mean, low and high of each metric."""
    import pandas as pd

    rows: list[dict[str, Any]] = []
    for point in found.points:
        row: dict[str, Any] = {"point": point.name}
        row |= {key: value if _is_number(value) else said(value) for key, value in point.chosen.items()}
        row["meets_all"] = "yes" if judged.meets[point.name] else "no"
        row["on_front"] = "yes" if judged.on_front[point.name] else "no"
        for metric, measured in found.summary[point.name].items():
            row |= {metric: measured.estimate.mean, f"{metric} low": measured.estimate.low}
            row[f"{metric} high"] = measured.estimate.high
        rows.append(row)
    return pd.DataFrame(rows)


def drawn_points(found: Sweep, judged: SweepJudged) -> pd.DataFrame:
    """Lay out one row a point for the charts of cost against held share and of hours against excess."""
    import pandas as pd

    metal = judged.metal
    rows = []
    for point in found.points:
        role = "chosen" if point is judged.cheapest else "today" if point is judged.today else ""
        row: dict[str, Any] = {"label": point.label, "role": role, "on_front": judged.on_front[point.name]}
        estimates = {
            "cost": found.summary[point.name]["annual_equivalent_cost"].estimate,
            "held": found.summary[point.name][f"held_pct.{metal}"].estimate,
            "excess": mean_interval(total_excess(found.runs[point.name])),
        }
        for name, estimate in estimates.items():
            known = estimate.low == estimate.low
            row |= {f"{name}_mean": estimate.mean, f"{name}_low": estimate.low if known else estimate.mean}
            row[f"{name}_high"] = estimate.high if known else estimate.mean
        row["held_high"] = min(row["held_high"], 100.0)
        row["excess_low"] = max(row["excess_low"], 0.0)
        row["hours_per_week"] = found.summary[point.name]["staff_h"].estimate.mean / DAYS_PER_YEAR * DAYS_PER_WEEK
        rows.append(row)
    return pd.DataFrame(rows)


def grid_rows(found: Sweep, judged: SweepJudged) -> pd.DataFrame | None:
    """Choose the rows of the chart of cadence and ready stock; None where these do not both vary.

    What varies besides stays at its first value.
    """
    import pandas as pd

    first = found.points[0].chosen
    cadence = next((key for key in first if key.rpartition(".")[2] == "cadence_weeks"), None)
    ready = next((key for key in first if key.startswith("stock.") and key.endswith(".ready")), None)
    if cadence is None or ready is None:
        return None
    rows = [
        (
            point.chosen[cadence],
            point.chosen[ready],
            found.summary[point.name][f"held_pct.{judged.metal}"].estimate.mean,
            judged.meets[point.name],
        )
        for point in found.points
        if all(point.chosen[key] == value for key, value in first.items() if key not in (cadence, ready))
    ]
    return pd.DataFrame(rows, columns=["cadence_weeks", "ready_packets", "held_pct", "meets"])


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
