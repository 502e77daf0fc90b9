"""A sensitivity study as tables, and as the rows of its charts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from simstore.study.sensitivity.effects import Sensitivity
from simstore.study.sensitivity.inputs import Input

if TYPE_CHECKING:
    import pandas as pd

LEAST_DRAWN: Final = 0.005
"""Inputs that move a result by less than this share of what the widest does are not drawn."""


def tables_of(found: Sensitivity) -> dict[str, pd.DataFrame]:
    """Make the tables: inputs, effects, worth of knowing, and the screening if there was one."""
    import pandas as pd

    inputs = pd.DataFrame(
        [
            (
                one.name, one.label, one.unit, " ".join(one.stated.keys), one.stated.scale, one.in_use, one.stated.low,
                one.stated.high, one.stated.source,
            )
            for one in found.inputs
        ],
        columns=["input", "label", "unit", "keys", "scale", "in_use", "low", "high", "source"],
    )  # fmt: skip
    effects = pd.DataFrame(
        [
            (row.name, row.end, row.metric, row.result, row.difference.mean, row.difference.low, row.difference.high)
            for row in found.effects
        ],
        columns=["input", "end", "metric", "result", "difference", "low", "high"],
    )
    knowing = pd.DataFrame(
        [
            (
                row.name,
                row.now,
                row.at_low,
                row.at_high,
                row.object_days,
                row.money,
                row.in_use,
                row.in_all,
            )
            for row in found.knowing
        ],
        columns=[
            "input",
            "plan_now",
            "plan_at_low",
            "plan_at_high",
            "object_days",
            "money",
            "plan_with_value_in_use",
            "money_with_harm",
        ],
    )
    tables = {"inputs": inputs, "effects": effects, "knowing": knowing}
    if found.screened:
        tables["screening"] = pd.concat(
            [
                pd.DataFrame(
                    {
                        "metric": metric, "input": [one.name for one in found.inputs], "mean": effects_.mean,
                        "mean_absolute": effects_.mean_absolute, "mean_absolute_error": effects_.mean_absolute_error,
                        "spread": effects_.spread,
                    }
                )
                for metric, effects_ in found.screened
            ],
            ignore_index=True,
        )  # fmt: skip
    return tables


def drawn_rows(found: Sensitivity, metric: str) -> pd.DataFrame:
    """Lay out one row an input for the chart of one result."""
    import pandas as pd

    examined = {row.name for row in found.knowing}
    deciding = {row.name for row in found.knowing if row.changes_decision}
    first = found.first_to_measure
    return pd.DataFrame(
        [
            (
                one.label, one.unit, one.stated.low, one.stated.high, found.effect(one.name, "low", metric).result,
                found.effect(one.name, "high", metric).result, one.name in examined, one.name in deciding,
                first is not None and one.name == first.name,
            )
            for one in drawn_inputs(found, metric)
        ],
        columns=[
            "label", "unit", "low_value", "high_value", "at_low", "at_high", "examined", "changes_decision",
            "measure_first",
        ],
    )  # fmt: skip


def drawn_inputs(found: Sensitivity, metric: str) -> list[Input]:
    """Choose the inputs that visibly move a result, and those whose worth was worked out; the widest if none does."""
    examined = {row.name for row in found.knowing}
    widest = max(found.inputs, key=lambda one: found.swing(one.name, metric))
    least = LEAST_DRAWN * found.swing(widest.name, metric)
    return [
        one for one in found.inputs if found.swing(one.name, metric) > least or one is widest or one.name in examined
    ]
