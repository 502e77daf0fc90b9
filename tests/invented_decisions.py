"""Invented tables for the charts for decisions."""

from __future__ import annotations

import numpy as np
import pandas as pd


def plans(*, chosen: bool = True) -> pd.DataFrame:
    rng = np.random.default_rng(3)
    cost = np.array([5200, 6100, 6900, 7400, 8200, 9600, 7800, 8900, 10200, 6500], dtype=float)
    held = np.array([91.2, 95.4, 97.1, 98.6, 99.3, 99.7, 96.0, 98.1, 99.2, 93.8])
    front = [True, True, True, True, True, True, False, False, False, False]
    labels = ["every 26 weeks", "every 17 weeks", "reading, 13 weeks", "forecast by kind", "forecast, measured leaks",
              "forecast, two ovens", "every 13 weeks", "reading, 8 weeks", "every 9 weeks", "reading, 26 weeks"]  # fmt: skip
    role = [""] * 10
    role[6] = "today"
    if chosen:
        role[4] = "chosen"
    return pd.DataFrame(
        {"label": labels, "cost_mean": cost, "cost_low": cost - 150, "cost_high": cost + 150, "held_mean": held,
         "held_low": held - rng.uniform(0.1, 0.5, 10), "held_high": np.minimum(100, held + rng.uniform(0.1, 0.5, 10)),
         "on_front": front, "role": role}
    )  # fmt: skip


def grid() -> pd.DataFrame:
    rows = []
    for weeks in (4, 6, 8, 10, 13, 17, 22, 26):
        for packets in (10, 20, 40, 60, 80):
            held = 99.9 - 0.03 * max(0, weeks - 6) ** 1.7 - 4 * max(0, (60 / weeks + 12 - packets)) / 20
            rows.append((weeks, packets, held, held >= 99.0))
    return pd.DataFrame(rows, columns=["cadence_weeks", "ready_packets", "held_pct", "meets"])


def hours() -> pd.DataFrame:
    at = np.array([2, 3, 4, 5, 6, 8.0])
    excess = 9000 * np.exp(-at / 2)
    frame = pd.DataFrame({"label": [f"{h:g} h a week" for h in at], "hours_per_week": at, "excess_mean": excess})
    return frame.assign(excess_low=excess * 0.8, excess_high=excess * 1.25, role=["", "today", "", "", "chosen", ""])


def differences() -> pd.DataFrame:
    return pd.DataFrame(
        [("iron object-days held", "points", 3.3, 2.9, 3.7, "higher"), ("copper alloy object-days held", "points", 0.02, -0.05, 0.09, "higher"),
         ("annual-equivalent cost", "EUR a year", 400.0, 250.0, 560.0, "lower"), ("staff hours", "h a year", -61.0, -70.0, -52.0, "lower"),
         ("energy", "kWh a year", -210.0, -260.0, -160.0, "lower"), ("exchanges", "a year", -310.0, -330.0, -290.0, "")],
        columns=["label", "unit", "mean", "low", "high", "better"],
    )  # fmt: skip


def additions() -> pd.DataFrame:
    return pd.DataFrame(
        [("one more oven", 0.3, -0.1, 0.7, 420.0, 400.0, 440.0), ("2 more hours a week", 2.4, 1.9, 2.9, 3120.0, 3050.0, 3190.0),
         ("10 kg more gel", 0.9, 0.5, 1.3, 95.0, 90.0, 100.0), ("measured leaks", 3.1, 2.6, 3.6, -250.0, -300.0, -200.0)],
        columns=["label", "gain_mean", "gain_low", "gain_high", "cost_mean", "cost_low", "cost_high"],
    )  # fmt: skip


def stresses() -> tuple[pd.DataFrame, pd.DataFrame]:
    week = np.arange(52)
    base = 99.6 - 0.3 * np.exp(-(((week - 32) / 6) ** 2))

    def after(first, depth, fade):
        ramp = np.clip((week - first + 1) / 4, 0, 1)
        return depth * ramp * np.where(week >= first, np.exp(-(week - first) / fade), 0)

    held = {
        "undisturbed": base,
        "oven": base - after(22, 4, 8),
        "away": base - after(27, 14, 9),
        "damp": base - after(30, 3, 3),
    }
    weeks = pd.concat([pd.DataFrame({"stress": k, "week": week, "held_pct": v}) for k, v in held.items()])
    spans = pd.DataFrame(
        [("oven", "oven out for 30 days", 154, 183), ("away", "technician away for six weeks", 189, 230), ("damp", "air handling failed in September", 243, 272)],
        columns=["stress", "label", "first_day", "last_day"],
    )  # fmt: skip
    return weeks, spans


def inputs(*, decide: bool = True) -> pd.DataFrame:
    return pd.DataFrame(
        [("spread of box leaks", "", 0.4, 1.0, 99.7, 97.2, decide), ("median box leak", "1/d", 1.0, 2.2, 99.8, 98.2, False),
         ("gel capacity", "kg/kg", 0.28, 0.36, 98.9, 99.5, False), ("minutes for an exchange", "min", 4.0, 9.0, 99.4, 98.9, decide),
         ("room humidity", "%RH", 54.0, 62.0, 99.5, 99.0, False)],
        columns=["label", "unit", "low_value", "high_value", "at_low", "at_high", "changes_decision"],
    )  # fmt: skip
