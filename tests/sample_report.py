"""Make the sample report of the river depot in ``reports/river_depot`` again.

    python tests/sample_report.py           search for a plan and try its inputs (some minutes), simulate and report
    python tests/sample_report.py --keep    keep the search and the sensitivity study that are there

The same seed gives the same bytes, whatever the number of processors; ``tests/report/test_sample_report.py`` checks
that, from the two slow studies that are kept beside the report.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).resolve().parents[1]
SCENARIO = ROOT / "scenarios" / "river_depot"
SAMPLE = ROOT / "reports" / "river_depot"
SEARCH = SAMPLE / "search"
SLOW = {"find": SEARCH, "sensitivity": SAMPLE / "sensitivity"}
MADE = ("report.html", "budget.xlsx")
OPTIONS = {
    "find": "",
    "compare": "--plan when_due --programme as_registered --programme boxes --programme bags --replications 6",
    "stress": f"--found {SEARCH} --replications 4",
    "sensitivity": f"--found {SEARCH} --replications 3",
}
"""Stress and sensitivity are of the plan that was found, so the search comes first."""


def simstore(*words: object) -> None:
    """Run a command of simstore; its words to the terminal are not shown."""
    command = [sys.executable, "-m", "simstore", *(str(word) for word in words)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


def study(command: str, out: Path) -> Path:
    """Run one of the studies; return its folder."""
    simstore(command, SCENARIO, *OPTIONS[command].split(), "--out", out)
    return out


def make(out: Path) -> Path:
    """Simulate the plan that was found beside others, study it, and write the report; return its folder."""
    plans = [word for plan in ("today", "strip", "when_due") for word in ("--plan", plan)]
    run = out / "run"
    simstore("run", SCENARIO, "--found", SEARCH, *plans, "--replications", 10, "--no-pictures", "--out", run)
    studies = [*SLOW.values(), *(study(command, out / command) for command in OPTIONS if command not in SLOW)]
    simstore("report", run, *(word for each in studies for word in ("--with", each)))
    return run


def main(arguments: list[str]) -> int:
    """Make the sample, and its slow studies unless they are to be kept."""
    with TemporaryDirectory() as place:
        out = Path(place)
        for command, kept in () if "--keep" in arguments else SLOW.items():
            study(command, out / command)
            shutil.rmtree(kept, ignore_errors=True)
            shutil.copytree(out / command, kept, ignore=shutil.ignore_patterns("*.png"))  # the next may need it
        run = make(out)
        for name in MADE:
            shutil.copyfile(run / name, SAMPLE / name)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
