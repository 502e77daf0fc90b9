"""Hourly air that can be read but looks like a slip: shares for percent, columns that change places, a stuck logger."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.reading.hours import Hours

STUCK_H = 72
"""Hours without the least change of temperature and humidity from which on a logger is probably stuck."""
SHARE_PCT = 1.5
HOTTEST_MEAN_C = 40.0
DRIEST_MEAN_PCT = 30.0


def odd_air_in(hours: Hours, name: str) -> Iterator[str]:
    """Yield a sentence for whatever looks like a slip in measured air.

    Parameters
    ----------
    hours : Hours
        As they were read, with NaN for missing ones.
    name : str
        Name of the file.
    """
    if not np.isfinite(hours.temp_c).any() or not np.isfinite(hours.rh_pct).any():
        return
    mean_c, mean_pct = float(np.nanmean(hours.temp_c)), float(np.nanmean(hours.rh_pct))
    if float(np.nanmax(hours.rh_pct)) <= SHARE_PCT:
        yield (
            f"{name}: no humidity above {np.nanmax(hours.rh_pct):g} %RH: it looks like shares, and is read as percent; "
            "multiply by 100"
        )
    elif mean_c > HOTTEST_MEAN_C and mean_pct < DRIEST_MEAN_PCT:
        yield (
            f"{name}: a mean of {mean_c:.0f} degC and {mean_pct:.0f} %RH: temperature and humidity have probably "
            "changed places"
        )
    for quantity, values, unit in (("temperature", hours.temp_c, "degC"), ("humidity", hours.rh_pct, "%RH")):
        first, length = _longest_rest(values)
        if length >= STUCK_H and values[first] not in (0.0, 100.0):
            yield (
                f"{name}: {quantity} stays at exactly {values[first]:g} {unit} for {length} hours from "
                f"{hours.labels[first]}: the logger was probably stuck"
            )


def _longest_rest(values: NDArray[np.float64]) -> tuple[int, int]:
    """Start and length of the longest run of one value."""
    edges = np.flatnonzero(np.diff(values, prepend=np.nan) != 0.0)
    lengths = np.diff(np.append(edges, len(values)))
    place = int(lengths.argmax())
    return int(edges[place]), int(lengths[place])
