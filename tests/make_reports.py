"""Make everything in ``reports/`` again.

    python tests/make_reports.py

The outside checks, the pages that are made from the code, and the picture of the README, which is one of those that
``simstore run scenarios/river_depot --out DIR --replications 20`` writes.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).resolve().parents[1]
PICTURE = ROOT / "reports" / "river_depot" / "rh_of_the_year.png"
REPLICATIONS = 20


def demo_run(out: Path) -> list[str]:
    """Words of the command that makes the picture, in its folder ``pictures``."""
    scenario = ROOT / "scenarios" / "river_depot"
    return ["simstore", "run", str(scenario), "--out", str(out), "--replications", str(REPLICATIONS)]


def main() -> int:
    for script in ("outside_checks.py", "reference_pages.py"):
        subprocess.run([sys.executable, ROOT / "tests" / script], check=True)
    with TemporaryDirectory() as folder:
        subprocess.run([sys.executable, "-m", *demo_run(Path(folder) / "out")], check=True, stdout=subprocess.DEVNULL)
        PICTURE.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(Path(folder) / "out" / "pictures" / PICTURE.name, PICTURE)
    return 0


if __name__ == "__main__":
    sys.exit(main())
