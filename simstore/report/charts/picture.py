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


def place_pct(picture: Picture, x: float, y: float) -> tuple[float, float]:
    """Find where a point of the chart stands in the picture, from the left and from the top. [%]."""
    left, low = picture.figure.axes[0].transData.transform((x, y))
    box = picture.figure.bbox
    return float(100 * left / box.width), float(100 - 100 * low / box.height)
