"""An old simulation must never answer for a new program: every file of simstore counts, however deep it lies."""

from importlib.resources import files
from pathlib import Path

from simstore.lab import fingerprint

PACKAGE = Path(__file__).parents[2] / "simstore"


def test_the_hash_covers_every_file_of_the_program():
    ours = {
        "/" + path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }

    assert {name for name, _ in fingerprint._files_below(files("simstore"), "")} == ours


def test_a_change_of_any_one_file_changes_the_hash(tmp_path, monkeypatch):
    for place in ("one.py", "deep/deeper/two.toml"):
        (tmp_path / place).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / place).write_text("1")
    monkeypatch.setattr(fingerprint, "files", lambda _package: tmp_path)
    hashes = []
    for place in (None, "one.py", "deep/deeper/two.toml"):
        if place is not None:
            (tmp_path / place).write_text("2")
        hashes.append(fingerprint._text_hash())

    assert len(set(hashes)) == 3
