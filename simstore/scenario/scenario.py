"""The scenario: a frozen value without files, from which a run follows completely."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.settings import Settings


@dataclass(frozen=True, slots=True, eq=False)
class HourlyAir:
    """Measured or typical air of the room, one value an hour from the first hour of 1 January or of the logger.

    Attributes
    ----------
    temp_c, rh_pct : ndarray, shape (hours,)
        A whole number of days; a run that is longer starts again at the beginning.
    first_day_of_year : int
        Day of the year of the first value, 1 for 1 January.
    """

    temp_c: NDArray[np.float64]
    rh_pct: NDArray[np.float64]
    first_day_of_year: int = 1


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A file that the scenario was read from, for the manifest."""

    name: str
    sha256: str
    text: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A store, its climate, its people and the plans for it.

    Attributes
    ----------
    enclosures : tuple of Enclosure
        Rows of the register in its order, then those of the groups.
    notes : tuple of str
        What reading did to the data with the user's leave (hours filled, days left out); the report repeats them.
    """

    settings: Settings
    enclosures: tuple[Enclosure, ...]
    air: HourlyAir | None = None
    files: tuple[SourceFile, ...] = field(default=())
    notes: tuple[str, ...] = field(default=())
