"""Charts on the page: inline SVG with their finding as label and their data as a table."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from simstore.report.inline_svg import inline_svg
from simstore.report.page_parts import Figure, Mark, Names, Table
from simstore.report.picture import Picture
from simstore.report.save import svg_of


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
    svg = inline_svg(svg_of(picture), prefix=name, label=picture.alt)
    # The text comes from our own chart library, which escapes what it draws; only its label is the user's, quoted.
    return Figure(id=name, svg=Markup(svg), data=data, marks=marks, note=note)  # noqa: S704
