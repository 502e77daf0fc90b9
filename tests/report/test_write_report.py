"""Page and workbook go into a result folder in one step, and only into one."""

import json
import shutil

import pytest
from typer.testing import CliRunner

import simstore.report.writing as writing
from simstore.cli.app import app
from simstore.errors import SimstoreError
from simstore.report.writing import write_report
from simstore.results.manifest import foreign_files


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


def test_a_damaged_table_is_named(folder):
    (folder / "costs.csv").write_text("plan,line\nx,y\n", encoding="utf-8")

    with pytest.raises(SimstoreError, match=r"costs\.csv: is not a table as this version writes it"):
        write_report(folder)


def test_the_command_writes_both_files_and_says_so(folder):
    done = CliRunner().invoke(app, ["report", str(folder), "--plan", "strip"])

    assert done.exit_code == 0
    assert "report.html" in done.output
    assert "budget.xlsx" in done.output
    assert "strip" in (folder / "report.html").read_text(encoding="utf-8")
