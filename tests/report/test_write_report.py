"""Page and workbook go into a result folder in one step, and only into one."""

import json
import shutil
from pathlib import Path

import pytest
from handmade import hashed_anew
from typer.testing import CliRunner

import simstore.report.writing as writing
from simstore.cli.app import app
from simstore.errors import SimstoreError
from simstore.report.writing import write_report
from simstore.results.manifest import foreign_files
from simstore.results.staging import refuse_foreign


@pytest.fixture
def folder(results, tmp_path):
    copy = tmp_path / "results"
    shutil.copytree(results, copy)
    return copy


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_writing_again_changes_no_byte(folder):
    before = contents(folder)

    write_report(folder, plan="two_ovens")

    assert contents(folder) == before


def test_the_manifest_knows_both_files_so_that_a_new_run_may_replace_the_folder(folder):
    written = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))["written"]

    assert {"report.html", "budget.xlsx"} <= set(written)
    assert foreign_files(folder) == []


def test_a_failure_half_way_leaves_the_old_folder_as_it_was(folder, monkeypatch):
    before = contents(folder)

    def broken(*_):
        msg = "disk full"
        raise OSError(msg)

    monkeypatch.setattr(writing, "write_workbook", broken)

    with pytest.raises(SimstoreError, match="cannot be written"):
        write_report(folder)
    assert contents(folder) == before
    assert [path.name for path in folder.parent.iterdir()] == ["results"]


def test_a_folder_with_files_of_others_is_left_as_it_is(folder):
    (folder / "notes.txt").write_text("mine", encoding="utf-8")

    with pytest.raises(SimstoreError, match=r"holds files that simstore did not write \(notes.txt\)"):
        write_report(folder)


def test_a_folder_without_results_is_refused(tmp_path):
    with pytest.raises(SimstoreError, match="is not a folder of results"):
        write_report(tmp_path)


def test_a_file_that_was_changed_is_not_believed(folder):
    document = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    document["plans"]["quarterly"]["cost_per_year"] = {"unit": "EUR", "mean": 1.0, "low": 1.0, "high": 1.0}
    (folder / "summary.json").write_text(json.dumps(document), encoding="utf-8")
    (folder / "loads.csv").unlink()

    with pytest.raises(SimstoreError, match=r"loads\.csv, summary\.json changed or gone; run the simulation again"):
        write_report(folder)


def test_an_edited_workbook_is_left_alone_or_kept_beside(folder):
    (folder / "budget.xlsx").write_bytes(b"my own figures")

    with pytest.raises(SimstoreError, match=r"budget\.xlsx: somebody has changed it.*--force"):
        write_report(folder)
    assert (folder / "budget.xlsx").read_bytes() == b"my own figures"

    answer = CliRunner().invoke(app, ["report", str(folder), "--force"])
    assert answer.exit_code == 0, answer.output
    assert (folder / "budget.kept.xlsx").read_bytes() == b"my own figures"
    assert (folder / "budget.xlsx").read_bytes()[:2] == b"PK"
    with pytest.raises(SimstoreError, match=r"budget\.kept\.xlsx"):  # nothing that is the user's goes unasked
        write_report(folder, force=True)


def test_the_folder_that_one_is_in_is_not_replaced(folder, monkeypatch):
    monkeypatch.chdir(folder)

    with pytest.raises(SimstoreError, match="is the folder that you are in"):
        write_report(Path())
    for place in (Path(), Path("/"), folder.parent):
        with pytest.raises(SimstoreError, match="is the folder that you are in"):
            refuse_foreign(place, place)


def test_a_place_inside_results_is_refused(folder):
    inside = folder / "more" / "results"
    with pytest.raises(SimstoreError, match="lies in a folder of results"):
        refuse_foreign(inside, inside)


def test_a_link_of_somebody_is_a_file_of_somebody(folder, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (folder / "link").symlink_to(tmp_path / "elsewhere")

    with pytest.raises(SimstoreError, match=r"did not write \(link\)"):
        refuse_foreign(folder, folder)


def test_a_damaged_table_is_named(folder):
    (folder / "costs.csv").write_text("plan,line\nx,y\n", encoding="utf-8")
    hashed_anew(folder)

    with pytest.raises(SimstoreError, match=r"costs\.csv: is not a table as this version writes it"):
        write_report(folder)


def test_the_command_writes_both_files_and_says_so(folder):
    done = CliRunner().invoke(app, ["report", str(folder), "--plan", "strip"])

    assert done.exit_code == 0
    assert "report.html" in done.output
    assert "budget.xlsx" in done.output
    assert "strip" in (folder / "report.html").read_text(encoding="utf-8")
