"""The course of each day over the enclosures of one metal and form: quantiles and the share over the ceiling."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from simstore.sim.record import RunRecord

QUANTILES: Final = {
    "rh_p05_pct": 0.05,
    "rh_p25_pct": 0.25,
    "rh_p50_pct": 0.50,
    "rh_p75_pct": 0.75,
    "rh_p95_pct": 0.95,
}


def sorted_quantiles(rising: NDArray[np.float32], shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Quantiles of rows that are sorted already, with linear interpolation between order statistics.

    Parameters
    ----------
    rising : ndarray, shape (rows, values)
        Each row in rising order; NaN come last and do not count.
    shares : ndarray, shape (quantiles,)
        Shares from 0 to 1.

    Returns
    -------
    ndarray, shape (quantiles, rows)

    References
    ----------
    .. [1] R. J. Hyndman and Y. Fan, "Sample quantiles in statistical packages", The American Statistician 50(4),
       1996, definition 7.
    """
    last = np.maximum(np.count_nonzero(~np.isnan(rising), axis=1) - 1, 0)
    place = last[:, np.newaxis] * shares
    below = np.floor(place).astype(np.intp)
    above = np.minimum(below + 1, last[:, np.newaxis])
    low, high = (np.take_along_axis(rising, index, axis=1).astype(np.float64) for index in (below, above))
    return np.asarray((low + (high - low) * (place - below)).T)


def room_day_means(series: NDArray[np.float32], days: int) -> NDArray[np.float64]:
    """Daily means, shape (days,), of a series with the same number of values every day."""
    return np.asarray(series.astype(np.float64).reshape(days, -1).mean(axis=1))


def day_columns(record: RunRecord) -> tuple[list[int], dict[str, list[Any] | NDArray[Any]]]:
    """Rows of the table ``days`` but for the date, ordered by day, metal and form; and the days of the rows."""
    year = record.enclosures
    kinds, metals = record.scenario.settings.kinds, record.scenario.settings.metals
    groups: dict[tuple[str, str], list[int]] = {}
    for index, (metal, kind) in enumerate(zip(year.metal, year.kind, strict=True)):
        groups.setdefault((metal, kinds[kind].form), []).append(index)
    keys = sorted(groups)
    days = record.days
    parts: dict[str, list[NDArray[Any]]] = {name: [] for name in ("enclosures", *QUANTILES, "over_pct")}
    for metal, form in keys:
        members = np.asarray(groups[metal, form])
        by_day = np.ascontiguousarray(year.day_mean_rh_pct[members].T)
        objects = year.objects[members].astype(np.float64)
        over = by_day > np.float32(metals[metal].ceiling_rh_pct)
        there = ~np.isnan(by_day)
        whole = there @ objects
        parts["over_pct"].append(100.0 * (over @ objects) / np.where(whole == 0, np.nan, whole))
        by_day.sort(axis=1)
        found = sorted_quantiles(by_day, np.asarray(list(QUANTILES.values())))
        for name, values in zip(QUANTILES, found, strict=True):
            parts[name].append(values)
        parts["enclosures"].append(np.count_nonzero(there, axis=1))
    numbers = [day for day in range(days) for _ in keys]
    return numbers, {
        "day": np.asarray(numbers, dtype=np.int64),
        "metal": [metal for _ in range(days) for metal, _ in keys],
        "form": [form for _ in range(days) for _, form in keys],
        **{name: np.stack(values, axis=1).ravel() for name, values in parts.items()},
        "room_rh_pct": np.repeat(room_day_means(record.room_rh_pct, days), len(keys)),
        "room_temp_c": np.repeat(room_day_means(record.room_temp_c, days), len(keys)),
    }
