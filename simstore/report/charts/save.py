"""Save charts as SVG and PNG with their data as CSV, byte for byte the same each time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from simstore.results.folder import file_parts

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.charts.picture import Picture
    from simstore.scenario.values.settings import Settings


def svg_of(picture: Picture) -> str:
    """Return the text of the SVG file of ``picture``; no date, and the same ids each time."""
    from io import StringIO

    from simstore.report.charts import style

    text = StringIO()
    with style.look():
        picture.figure.savefig(text, format="svg", metadata={"Date": None, "Creator": None, "Title": picture.title})
    return text.getvalue()


def save_picture(picture: Picture, folder: Path, *, name: str | None = None) -> list[Path]:
    """Write NAME.svg, NAME.png and NAME.csv into ``folder``, which must exist.

    Parameters
    ----------
    picture : Picture
    folder : Path
    name : str, optional
        Name of the files without ending; the picture's own by default.

    Returns
    -------
    list of Path
        What was written.
    """
    from simstore.report.charts import style

    stem = picture.name if name is None else name
    svg, png, csv = (folder / f"{stem}.{ending}" for ending in ("svg", "png", "csv"))
    svg.write_text(svg_of(picture), encoding="utf-8", newline="\n")
    with style.look():
        picture.figure.savefig(
            png,
            format="png",
            metadata={"Software": None, "Title": picture.title},
            pil_kwargs={"compress_level": 3},
        )
    picture.data.to_csv(csv, index=False, float_format="%.6g", lineterminator="\n", encoding="utf-8")
    return [svg, png, csv]


def year_pictures(tables: Mapping[str, pd.DataFrame], settings: Settings, *, plan: str) -> list[Picture]:
    """Draw the three charts of the year of one plan.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of the results; other plans may be in them.
    settings : Settings
        As this plan has them: its ovens, stock and kinds.
    plan : str
    """
    from simstore.report.charts.year import rh_of_the_year, weeks_over, work_of_the_year

    own = tables["days"][tables["days"]["plan"] == plan]
    if own.empty:
        msg = f"plan {plan!r} has no rows in the table 'days': nothing to draw"
        raise ValueError(msg)
    days, replications = int(own["day"].max()) + 1, int(own["replication"].nunique())
    return [
        rh_of_the_year(tables, settings, plan=plan),
        weeks_over(tables, settings, plan=plan, days=days),
        work_of_the_year(tables, settings, plan=plan, days=days, replications=replications),
    ]


def write_pictures(
    out_dir: Path, tables: Mapping[str, pd.DataFrame], settings: Settings | Mapping[str, Settings]
) -> list[Path]:
    """Write the charts of the year of every plan that was run into ``out_dir``.

    Files are called ``PLAN_rh_of_the_year.svg`` and so on; with one plan the name of the plan is left out.

    Parameters
    ----------
    out_dir : Path
        Folder; it is made if there is none.
    tables : mapping of str to DataFrame
        Tables of the results.
    settings : Settings or mapping of str to Settings
        One for all plans, or one for each, by its name, with the changes that the plan brings.

    Returns
    -------
    list of Path
        What was written.
    """
    out_dir.mkdir(parents=True, exist_ok=True)
    written: list[Path] = []
    for name, picture in named_pictures(tables, settings):
        written += save_picture(picture, out_dir, name=name)
    return written


def named_pictures(
    tables: Mapping[str, pd.DataFrame], settings: Settings | Mapping[str, Settings]
) -> Iterator[tuple[str, Picture]]:
    """Draw the charts of the year of every plan that was run, by the names of their files; see `write_pictures`."""
    plans = list(dict.fromkeys(tables["days"]["plan"].astype(str)))
    parts = file_parts(plans)
    for plan in plans:
        own = settings[plan] if isinstance(settings, Mapping) else settings
        for picture in year_pictures(tables, own, plan=plan):
            yield picture.name if len(plans) == 1 else f"{parts[plan]}_{picture.name}", picture
