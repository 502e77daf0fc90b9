"""A chart with its data and its words, so that it can be saved, put on a page and read aloud."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """One finished chart.

    Attributes
    ----------
    name : str
        Name of its files, without ending.
    title : str
        The finding, as a sentence.
    alt : str
        What a reader who cannot see it needs to know.
    figure : Figure
    data : DataFrame
        What is drawn, one row a point, units in the column names.
    """

    name: str
    title: str
    alt: str
    figure: Figure
    data: pd.DataFrame
