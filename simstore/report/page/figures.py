"""Charts on the page: inline SVG with their finding as label and their data as a table."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

from simstore.report.charts.picture import Picture
from simstore.report.charts.save import svg_of
from simstore.report.page.inline_svg import inline_svg
from simstore.report.page.parts import Figure, Mark, Names, Table

_PATH: Final = re.compile(r'(?<= )d="([^"]*)"')
_MOVE: Final = re.compile(r"translate\(([^)]*)\)")
_BREAK: Final = re.compile(r"\s*\n\s*")
_GROUP: Final = re.compile(r'<g id="[^"]*"')
_FINE: Final = re.compile(r"-?\d+\.\d{3,}")


def figure(picture: Picture, names: Names, *, data: Table, marks: Sequence[Mark] = (), note: str = "") -> Figure:
    """Put a finished chart on the page.

    Parameters
    ----------
    picture : Picture
    names : Names
        Ids of the page.
    data : Table
        What is drawn, short enough to read.
    marks : sequence of Mark
        Plans that can be pointed at.
    note : str
        Line below the chart.
    """
    name = names.of(f"chart-{picture.name.replace('_', '-')}")
    svg = inlined(svg_of(picture), names, label=picture.alt)
    return Figure(id=name, svg=svg, data=data, marks=marks, note=note)


def inlined(svg: str, names: Names, *, label: str) -> Markup:
    """Make a saved chart part of the page.

    It is made short: places are rounded to a hundredth of a point, which nobody sees; groups lose their ids, which
    nothing refers to; the others begin with few letters, since each letter that is drawn names one.
    """
    for pattern, rounded in ((_PATH, r'd="{}"'), (_MOVE, r"translate({})")):
        svg = pattern.sub(lambda match, form=rounded: form.format(_FINE.sub(_rounded, match[1])), svg)  # type: ignore[misc]
    svg = _GROUP.sub("<g", _BREAK.sub("\n", svg)).replace(" xlink:href=", " href=")
    # The text comes from our own charts, which escape what they draw; the label is quoted.
    return Markup(inline_svg(svg, prefix=names.of("g"), label=label))  # noqa: S704


def _rounded(match: re.Match[str]) -> str:
    return f"{float(match[0]):.2f}".rstrip("0").rstrip(".")
