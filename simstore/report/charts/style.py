"""The look that all charts share: fonts, sizes, weights, colours, and a sheet with its finding as the title."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any, Final

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

INK: Final = "#1d2733"
GREY: Final = "#6f7780"
HAIR: Final = "#d3d8dd"
PETROL: Final = "#0f3b4c"
RUST: Final = "#a63d1d"
STEEL: Final = "#5f8fb0"
OCHRE: Final = "#d9a534"
MIST: Final = "#d0dee4"
SERIES: Final = (PETROL, RUST, STEEL, OCHRE, MIST)
"""Five steps of lightness, so that they also differ in grey print and to every colour vision."""
LINES: Final[tuple[Any, ...]] = ("-", (0, (5, 2)), (0, (1, 1.5)), (0, (6, 2, 1, 2)), (0, (3, 1)))
"""Line styles that go with ``SERIES``."""

TITLE_PT: Final = 11.0
TEXT_PT: Final = 8.5
SMALL_PT: Final = 7.5
WIDTH_IN: Final = 7.1
"""Width of the text of an A4 page: sizes on paper are the sizes stated here."""
EDGE_IN: Final = 0.08
PNG_DPI: Final = 150

_LOOK: Final[dict[str, Any]] = {
    "font.family": ["DejaVu Sans"],
    "font.size": TEXT_PT,
    "axes.labelsize": TEXT_PT,
    "axes.titlesize": TEXT_PT,
    "xtick.labelsize": SMALL_PT,
    "ytick.labelsize": SMALL_PT,
    "text.color": INK,
    "text.parse_math": False,
    "text.hinting": "no_hinting",
    "axes.labelcolor": INK,
    "axes.edgecolor": GREY,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "axes.unicode_minus": True,
    "axes.formatter.useoffset": False,
    "axes.xmargin": 0.0,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.major.size": 3.0,
    "ytick.major.size": 3.0,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "lines.linewidth": 1.5,
    "lines.solid_capstyle": "round",
    "hatch.linewidth": 0.5,
    "figure.dpi": 100.0,
    "savefig.dpi": PNG_DPI,
    "svg.fonttype": "path",
    "svg.hashsalt": "simstore",
    "path.simplify": True,
}
_NOT_LOOK: Final = ("backend", "interactive", "toolbar", "timezone", "webagg.", "tk.", "docstring.", "keymap.", "date.")


def _rc() -> Any:
    default = {key: value for key, value in mpl.rcParamsDefault.items() if not key.startswith(_NOT_LOOK)}
    changed = {key: value for key, value in default.items() if mpl.rcParams[key] != value}
    return changed | _LOOK


@contextmanager
def look() -> Iterator[None]:
    """Draw and save with this look, whatever the user's own settings of the plotting library are."""
    with mpl.rc_context(_rc()):
        yield


def width_pt(text: str, *, size_pt: float, bold: bool = False) -> float:
    """Measure one line of ``text``, in points."""
    font = FontProperties(family=["DejaVu Sans"], size=size_pt, weight="bold" if bold else "normal")
    # The path text tool measures at its own fixed size and scales, so that the width is proportional to the size.
    return float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0])


@cache
def _word_pt(word: str, bold: bool) -> float:
    return width_pt(word, size_pt=100.0, bold=bold) / 100.0


def wrapped(text: str, *, room_in: float, size_pt: float, bold: bool = False, level: bool = False) -> list[str]:
    """Break ``text`` at ordinary spaces into lines no wider than ``room_in`` inches.

    A word that is wider than that keeps a line of its own; ``level`` makes the lines about equally long.
    """
    words = text.split(" ")
    widths = [size_pt * _word_pt(word, bold) for word in words]
    space = size_pt * _word_pt(" ", bold)

    def filled(room_pt: float) -> list[list[str]]:
        lines: list[list[str]] = []
        used = math.inf
        for word, width in zip(words, widths, strict=True):
            if lines and used + space + width <= room_pt:
                lines[-1].append(word)
                used += space + width
            else:
                lines.append([word])
                used = width
        return lines

    room_pt = room_in * 72.0
    best = filled(room_pt)
    if not level:
        return [" ".join(line) for line in best]
    for share in (0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.65, 0.6, 0.55):
        closer = filled(share * room_pt)
        if len(closer) > len(best):
            break
        best = closer
    return [" ".join(line) for line in best]


def shortened(text: str, *, room_in: float, size_pt: float) -> str:
    """``text``, cut with an ellipsis where it is wider than ``room_in`` inches."""
    if width_pt(text, size_pt=size_pt) <= room_in * 72.0:
        return text
    kept = text
    while kept and width_pt(f"{kept}…", size_pt=size_pt) > room_in * 72.0:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


def folded(text: str, *, room_in: float, size_pt: float, most: int) -> str:
    """``text`` on at most ``most`` lines of ``room_in`` inches; what is still too long is cut with an ellipsis."""
    lines = wrapped(text, room_in=room_in, size_pt=size_pt, level=True)
    last = shortened(" ".join(lines[most - 1 :]), room_in=room_in, size_pt=size_pt)
    return "\n".join([*lines[: most - 1], last] if len(lines) > most else lines)


class Sheet:
    """A figure with the finding on top, a body measured in inches, and a small source line below.

    Parameters
    ----------
    title : str
        The finding, as a sentence; wrapped and left-aligned.
    body_in : float
        Height of the body. [in]
    explained : str
        What is drawn, in a line or two under the title.
    source : str
        Where the data come from.
    """

    def __init__(self, title: str, *, body_in: float, explained: str = "", source: str = "") -> None:
        room_in = WIDTH_IN - 2 * EDGE_IN
        heading = wrapped(title, room_in=room_in, size_pt=TITLE_PT, bold=True, level=True)
        below = wrapped(explained, room_in=room_in, size_pt=TEXT_PT) if explained else []
        foot = wrapped(source, room_in=room_in, size_pt=SMALL_PT) if source else []
        heading_in = 0.19 * len(heading)
        self.head_in = EDGE_IN + heading_in + 0.05 + 0.15 * len(below) + 0.10
        foot_in = 0.10 + 0.13 * len(foot)
        self.height_in = self.head_in + body_in + foot_in
        self.figure = Figure(figsize=(WIDTH_IN, self.height_in), facecolor="white")
        left = EDGE_IN / WIDTH_IN
        self.figure.suptitle(
            "\n".join(heading),
            x=left,
            y=1.0 - EDGE_IN / self.height_in,
            ha="left",
            va="top",
            fontsize=TITLE_PT,
            fontweight="bold",
            linespacing=1.15,
        )
        if below:
            y = 1.0 - (EDGE_IN + heading_in + 0.05) / self.height_in
            self.figure.text(left, y, "\n".join(below), va="top", fontsize=TEXT_PT, color=GREY, linespacing=1.15)
        if foot:
            self.figure.text(left, 0.05 / self.height_in, "\n".join(foot), va="bottom", fontsize=SMALL_PT, color=GREY)

    def axes(
        self, *, left_in: float, top_in: float, width_in: float, height_in: float, sharex: Axes | None = None
    ) -> Axes:
        """Place axes in the body, in inches from its upper left corner."""
        bottom_in = self.height_in - self.head_in - top_in - height_in
        place = (
            left_in / WIDTH_IN,
            bottom_in / self.height_in,
            width_in / WIDTH_IN,
            height_in / self.height_in,
        )
        return self.figure.add_axes(place, sharex=sharex)

    def text(self, text: str, *, left_in: float, top_in: float, **look: Any) -> None:
        """Place text in the body, its upper left corner in inches from the body's."""
        x, y = left_in / WIDTH_IN, 1.0 - (self.head_in + top_in) / self.height_in
        defaults: dict[str, Any] = {"va": "top", "fontsize": TEXT_PT}
        self.figure.text(x, y, text, **(defaults | look))


def size_pt(axes: Axes) -> tuple[float, float]:
    """Width and height of ``axes`` on paper, in points."""
    figure = axes.get_figure(root=True)
    place = axes.get_position()
    width_in, height_in = figure.get_size_inches() if figure is not None else (1.0, 1.0)
    return 72.0 * float(width_in) * place.width, 72.0 * float(height_in) * place.height


def heading(axes: Axes, text: str, right: str = "", *, right_colour: str = INK, bold: bool = True) -> None:
    """Say over ``axes`` what it shows, on the left, and what it comes to, on the right."""
    axes.annotate(
        text,
        (0, 1),
        (0, 4),
        xycoords="axes fraction",
        textcoords="offset points",
        fontweight="bold" if bold else "normal",
        fontsize=TEXT_PT,
    )
    if right:
        axes.annotate(
            right,
            (1, 1),
            (0, 4),
            xycoords="axes fraction",
            textcoords="offset points",
            ha="right",
            color=right_colour,
            fontsize=TEXT_PT,
        )


def rules(axes: Axes, axis: str = "y") -> None:
    """Thin lines behind the data at the ticks of ``axis``."""
    axes.grid(visible=True, axis=axis, color=HAIR, linewidth=0.5)  # type: ignore[arg-type]


def apart(wanted: Sequence[float], *, least: float, low: float, high: float) -> list[float]:
    """Move label positions as little as needed to stand ``least`` apart between ``low`` and ``high``, in order."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    groups: list[list[int]] = []
    centres: list[float] = []

    def centre_of(group: list[int]) -> float:
        offset = [least * (k - (len(group) - 1) / 2) for k in range(len(group))]
        mid = sum(wanted[i] - o for i, o in zip(group, offset, strict=True)) / len(group)
        half = least * (len(group) - 1) / 2
        return max(low + half, min(mid, high - half))

    for i in order:
        groups.append([i])
        centres.append(centre_of([i]))
        while len(groups) > 1:
            reach = least * (len(groups[-1]) + len(groups[-2])) / 2
            if centres[-1] - centres[-2] >= reach - 1e-12:
                break
            groups[-2:] = [groups[-2] + groups[-1]]
            centres[-2:] = [centre_of(groups[-1])]
    placed = [0.0] * len(wanted)
    for group, centre in zip(groups, centres, strict=True):
        for k, i in enumerate(group):
            placed[i] = centre + least * (k - (len(group) - 1) / 2)
    return placed
