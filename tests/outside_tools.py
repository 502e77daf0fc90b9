"""Programs from outside that some tests need: a browser, an office program, a page checker, PDF tools.

Where one is missing, the test is skipped and says so; where the environment variable CI is set, it fails.
"""

import os
import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
AXE = ROOT / ".ci" / "tools" / "node_modules" / "axe-core" / "axe.min.js"


def missing(what):
    msg = f"{what} is not installed: run .ci/install-tools; this test did NOT run"
    if os.environ.get("CI"):
        pytest.fail(msg)
    pytest.skip(msg)


def program(*names):
    """Path of the first program that is there."""
    for name in names:
        found = shutil.which(name)
        if found:
            return found
    return missing(names[0])


def page_checker():
    """Text of the accessibility checker axe-core, which comes from npm and is not part of the repository."""
    place = Path(os.environ.get("SIMSTORE_AXE", AXE))
    if not place.exists():
        missing("axe-core")
    return place.read_text(encoding="utf-8")
