"""The page for scripts and notebooks: every cell runs, one after the other, and gives what is said of it."""

import pandas as pd
from written_page import ROOT, blocks_of

PAGE = ROOT / "scenarios" / "NOTEBOOK.md"


def test_every_cell_runs_and_gives_what_is_said_of_it(tmp_path, monkeypatch):
    (tmp_path / "scenarios").symlink_to(ROOT / "scenarios")
    monkeypatch.chdir(tmp_path)
    cells = [text for language, text in blocks_of(PAGE) if language == "python"]
    said: dict = {}
    for cell in cells:
        exec(compile(cell, str(PAGE), "exec"), said)

    year, held = said["year"], said["held"]
    assert list(year.summary.columns) == ["plan", "metric", "unit", "mean", "low", "high"]
    assert isinstance(year.tables["exchanges"], pd.DataFrame)
    assert "rh_of_the_year" in year.charts
    assert list(held["plan"]) == ["by_metal"]
    assert repr(year).startswith("<run of 'Tiny store': quarterly; 4 replications>")
    assert "<pre>" in year._repr_html_()
    assert said["store"].scenario.settings.climate.rh_mean_pct == 58.0
    answers = (year, said["drier"].run("quarterly", replications=4))
    wet, dry = (answer.tables["enclosures"]["mean_rh_pct"].mean() for answer in answers)
    assert dry < wet
    assert (tmp_path / "out" / "notebook_year" / "summary.json").exists()


def test_the_public_names_are_those_that_the_page_and_the_guide_need():
    import simstore

    assert {"load", "Store", "SimstoreError"} <= set(simstore.__all__)
    assert all(getattr(simstore, name) is not None for name in simstore.__all__)
