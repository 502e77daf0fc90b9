"""Saved charts: the same bytes each time, no duplicate ids on a page, and nothing that covers anything else."""

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pandas as pd
import pytest
from handmade import small_record, small_scenario
from invented_decisions import additions, differences, grid, hours, inputs, plans, stresses
from invented_year import START, settings, year

from simstore.report.charts import style
from simstore.report.charts.decisions import (
    cadence_and_stock,
    hours_and_excess,
    paired_differences,
    tradeoff,
    under_stress,
    what_more_buys,
    what_to_measure,
)
from simstore.report.charts.save import save_picture, svg_of, write_pictures, year_pictures
from simstore.report.page.inline_svg import inline_svg
from simstore.results.folder import file_part
from simstore.results.tables import tables
from simstore.scenario.values.housing import Metal


def decision_pictures():
    weeks, spans = stresses()
    return [
        tradeoff(plans(), standard_pct=99.0, currency="EUR", what="iron", source="Invented."),
        cadence_and_stock(grid(), standard_pct=99.0, what="iron", source="Invented."),
        hours_and_excess(hours(), source="Invented."),
        paired_differences(differences(), first="forecast", second="today", source="Invented."),
        what_more_buys(additions(), currency="EUR", what="iron", source="Invented."),
        under_stress(weeks, spans, standard_pct=99.0, what="iron", start=START, source="Invented."),
        what_to_measure(inputs(), base=99.3, result="iron object-days held", unit="%", limit=99.0, source="Invented."),
    ]


LONG = {
    "iron": Metal(label="chloride-bearing iron from wet ground", ceiling_rh_pct=15.0, standard_pct=99.0),
    "copper": Metal(label="copper alloy with active chlorides", ceiling_rh_pct=38.0, standard_pct=99.0),
}


@pytest.fixture(scope="module")
def pictures():
    lengthy = year(damp=0.8)
    lengthy["enclosures"] = lengthy["enclosures"].assign(
        enclosure=lengthy["enclosures"]["enclosure"] + "-upper-gallery"
    )
    lengthy["weeks"] = lengthy["weeks"].assign(enclosure=lengthy["weeks"]["enclosure"] + "-upper-gallery")
    both = [
        *year_pictures(lengthy, settings(metals=LONG), plan="today"),
        *year_pictures(year(damp=0.3, replications=2), settings(), plan="today"),
        *year_pictures(year(damp=1.2, days=1100), settings(), plan="today"),
    ]
    return [*both, *decision_pictures()]


def covered(figure) -> list[str]:
    """Pairs of texts that lie on one another, and texts that leave the figure."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.text import Text

    with style.look():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        renderer = canvas.get_renderer()
        out_of_view = set()
        for axis in (a for axes in figure.axes for a in (axes.xaxis, axes.yaxis)):
            low, high = sorted(axis.get_view_interval())
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if not low - 1e-9 <= tick.get_loc() <= high + 1e-9:
                    out_of_view |= {tick.label1, tick.label2}
        boxes = [
            (t.get_text(), t.get_window_extent(renderer))
            for t in figure.findobj(Text)
            if t.get_text().strip() and t.get_visible() and t not in out_of_view
        ]
    faults = [
        text for text, b in boxes if b.x0 < -1 or b.y0 < -1 or b.x1 > figure.bbox.x1 + 1 or b.y1 > figure.bbox.y1 + 1
    ]
    for i, (one, a) in enumerate(boxes):
        for other, b in boxes[i + 1 :]:
            # one pixel of touching is no overlap
            wide, tall = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
            if wide > 1 and tall > 2.5:
                faults.append(f"{one!r} on {other!r}")
    return faults


def test_no_text_of_any_chart_covers_another_or_leaves_the_sheet(pictures):
    faults = {f"{i} {p.name}": found for i, p in enumerate(pictures) if (found := covered(p.figure))}

    assert faults == {}


def test_the_check_for_covered_text_finds_text_on_text_and_text_beyond_the_edge():
    with style.look():
        sheet = style.Sheet("Title", body_in=1.0)
        sheet.text("one", left_in=1.0, top_in=0.2)
        sheet.text("two", left_in=1.05, top_in=0.22)
        sheet.text("far", left_in=style.WIDTH_IN - 0.05, top_in=0.8)

    assert covered(sheet.figure) == ["far", "'one' on 'two'"]


def test_two_savings_of_one_chart_are_equal_byte_for_byte(tmp_path):
    for name in ("first", "second"):
        (tmp_path / name).mkdir()
        for picture in year_pictures(year(damp=0.8), settings(), plan="today"):
            save_picture(picture, tmp_path / name)
    first, second = ({p.name: p.read_bytes() for p in (tmp_path / n).iterdir()} for n in ("first", "second"))

    assert len(first) == 9
    assert first == second


def test_another_process_with_another_hash_seed_saves_the_same_bytes(tmp_path):
    code = (
        "from pathlib import Path; import sys; from test_save import decision_pictures; "
        "from simstore.report.charts.save import save_picture; "
        "[save_picture(p, Path(sys.argv[1])) for p in decision_pictures()[:2]]"
    )
    here = Path(__file__).parent
    found = []
    for seed in ("1", "2"):
        out = tmp_path / seed
        out.mkdir()
        env = os.environ | {
            "PYTHONHASHSEED": seed,
            "PYTHONPATH": os.pathsep.join([str(here), str(here.parent), *sys.path]),
        }
        subprocess.run([sys.executable, "-c", code, str(out)], check=True, env=env)
        found.append({p.name: p.read_bytes() for p in out.iterdir()})

    assert len(found[0]) == 6
    assert found[0] == found[1]


def test_a_saved_svg_tells_neither_date_nor_program():
    text = svg_of(decision_pictures()[2])

    assert "<dc:date>" not in text
    assert "Matplotlib v" not in text


def test_data_beside_a_chart_can_be_read_back(tmp_path):
    picture = decision_pictures()[0]
    save_picture(picture, tmp_path)

    table = pd.read_csv(tmp_path / "tradeoff.csv")

    assert table["cost_mean"].tolist() == picture.data["cost_mean"].tolist()
    assert b"\r" not in (tmp_path / "tradeoff.csv").read_bytes()


def test_pictures_of_one_plan_have_plain_names_and_those_of_several_name_their_plan(tmp_path):
    one, other = year(damp=0.5), year(damp=0.5, plan="when due")
    both = {name: pd.concat([one[name], other[name]]) for name in one}

    single = write_pictures(tmp_path / "one", one, settings())
    several = write_pictures(tmp_path / "two", both, {"today": settings(), "when due": settings()})

    assert {p.name for p in single} == {
        f"{name}.{ending}"
        for name in ("rh_of_the_year", "weeks_over", "work_of_the_year")
        for ending in ("svg", "png", "csv")
    }
    assert len(several) == 18
    assert (tmp_path / "two" / "when_due_weeks_over.svg").exists()


def test_a_file_name_keeps_only_harmless_characters():
    assert file_part("../Plan A: 2 % é") == "___Plan_A__2____"


def test_a_plan_without_runs_is_refused():
    with pytest.raises(ValueError, match="plan 'other' has no rows"):
        year_pictures(year(), settings(), plan="other")


def test_importing_the_module_does_not_load_the_drawing_library():
    code = "import sys, simstore.report.charts.save; sys.exit('matplotlib' in sys.modules or 'pandas' in sys.modules)"

    assert subprocess.run([sys.executable, "-c", code]).returncode == 0


def inlined(pictures):
    return [inline_svg(svg_of(p), prefix=f"c{i}", label=p.alt) for i, p in enumerate(pictures)]


def test_charts_inlined_on_one_page_share_no_id_and_every_reference_finds_its_own():
    page = f"<div>{''.join(inlined(decision_pictures()[:4]))}</div>"
    tree = ET.fromstring(page)
    ids = [node.attrib["id"] for node in tree.iter() if "id" in node.attrib]
    wanted = re.findall(r'href="#([^"]+)"', page) + re.findall(r"url\(#([^)]+)\)", page)

    assert len(ids) > 100
    assert len(ids) == len(set(ids))
    assert wanted
    assert set(wanted) <= set(ids)


def test_an_inlined_chart_is_a_labelled_picture_without_prolog_or_size():
    picture = decision_pictures()[3]
    svg = inline_svg(svg_of(picture), prefix="a", label='it\'s "so" & <so>')
    root = ET.fromstring(svg)

    assert svg.startswith("<svg")
    assert "<metadata" not in svg
    assert "DOCTYPE" not in svg
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-label"] == 'it\'s "so" & <so>'
    assert "width" not in root.attrib
    assert "viewBox" in root.attrib


@pytest.mark.parametrize(
    ("svg", "prefix", "fault"), [("<p/>", "a", "no <svg>"), ("<svg></svg>", "1 a", "must begin with a letter")]
)
def test_what_cannot_be_inlined_is_refused(svg, prefix, fault):
    with pytest.raises(ValueError, match=fault):
        inline_svg(svg, prefix=prefix, label="x")


def test_a_run_of_four_days_can_be_drawn_from_its_tables():
    scenario = small_scenario()

    rh, weeks, work = year_pictures(tables([small_record()]), scenario.settings, plan="quarterly")

    # by hand: iron has 4 objects on 4 days, of which the single one of B-2 is over 15 %RH on 3: 3/16 = 18.75 %
    assert rh.title.replace("\u00a0", " ") == (
        "Iron passes its 15 %RH ceiling in January: 19 % of object-days over, 1 % allowed"
    )
    assert weeks.title == "Iron: 1 of 2 enclosures passed their ceiling at some time"
    assert all(covered(p.figure) == [] for p in (rh, weeks, work))
