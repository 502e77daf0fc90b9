"""What cannot be written is told before anything is simulated."""

import shutil
from collections import namedtuple
from pathlib import Path

import pytest
from typer.testing import CliRunner

from simstore.cli.app import app
from simstore.errors import SimstoreError
from simstore.results import preflight
from simstore.results.preflight import look_ahead

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def test_a_place_that_can_be_written_passes_and_nothing_is_left_there(tmp_path):
    look_ahead(tmp_path / "a" / "b" / "out")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_closed_is_told(tmp_path, monkeypatch):
    def closed(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", closed)
    with pytest.raises(SimstoreError, match=r"cannot be written: Permission denied; .* nothing was simulated"):
        look_ahead(tmp_path / "closed" / "out")


def test_a_file_in_the_way_and_a_name_that_is_too_long_are_told(tmp_path):
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    with pytest.raises(SimstoreError, match="is a file"):
        look_ahead(tmp_path / "file" / "out")
    with pytest.raises(SimstoreError, match="nothing was simulated"):
        look_ahead(tmp_path / ("x" * 300))
    with pytest.raises(SimstoreError, match="nothing was simulated"):
        look_ahead(Path("/proc/nowhere/out"))


def test_a_full_disk_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: namedtuple("usage", "total used free")(10, 9, 1_000_000))
    with pytest.raises(SimstoreError, match="the disk has 1 MB left"):
        look_ahead(tmp_path / "out")


def test_parquet_without_its_library_is_told_before_a_run(tmp_path, monkeypatch):
    monkeypatch.setattr(preflight, "find_spec", lambda _: None)
    answer = CliRunner().invoke(app, ["run", str(TINY), "--out", str(tmp_path / "out"), "--parquet"])
    assert isinstance(answer.exception, SimstoreError)
    assert "--parquet needs pyarrow" in str(answer.exception)
    assert list(tmp_path.iterdir()) == []
