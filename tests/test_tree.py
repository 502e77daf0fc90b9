"""What lies at the top of the repository, and what must not lie anywhere in it."""

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "simstore", "scenarios", "tests", "reports"}
MADE = {"build", "dist", "htmlcov", "out", "simstore.egg-info"}
"""Made by tools and ignored by git."""


def tracked() -> list[str]:
    found = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True)
    if found.returncode:  # an archive without git
        return [
            path.relative_to(ROOT).as_posix()
            for path in ROOT.rglob("*")
            if path.is_file() and ".venv" not in path.parts
        ]
    return [name for name in found.stdout.split("\0") if name]


def test_the_top_level_is_what_the_manual_says():
    top = {name.split("/")[0] for name in tracked()}

    assert {name for name in top if not name.startswith(".")} - MADE == TOP


def test_the_lock_names_no_address():
    lock = (ROOT / ".ci" / "lock.txt").read_text()

    assert re.findall(r"https?://\S+", lock) == []
    assert lock.count("--hash=sha256:") > 100
