"""Does a change leave every result as it was, to the byte? Runs the commands on `scenarios/tiny` at two commits.

    python tests/benchmarks/same_bytes.py main~1 main
    python tests/benchmarks/same_bytes.py main .          the files as they lie here, committed or not

Each commit is laid out apart and run with the libraries of this Python. The files of all result folders, the words on
the terminal and the exit codes are compared; the place where a result lay is taken out of the words first.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TINY = "scenarios/tiny"
COMMANDS = {
    "check": f"check {TINY}",
    "run": f"run {TINY} --replications 3 --report --out OUT/run",
    "compare": f"compare {TINY} --plan quarterly --plan strip --replications 3 --out OUT/compare",
    "programmes": f"compare {TINY} --plan quarterly --programme as_registered --programme boxes_only --replications 3 --out OUT/housed",
    "find": f"find {TINY} --budget 60 --out OUT/find",
    "sweep": f"sweep {TINY} --vary plans.quarterly.cadence_weeks=8,16 --replications 2 --out OUT/sweep",
    "stress": f"stress {TINY} --plan quarterly --replications 2 --out OUT/stress",
    "sensitivity": f"sensitivity {TINY} --plan quarterly --replications 2 --decide 1 --out OUT/sensitivity",
    "report": "report OUT/run --with OUT/compare --with OUT/find --with OUT/stress --with OUT/sensitivity",
}
NOT_RESULTS = {"manifest.json"}
"""Keeps hashes of the other files and versions; the other files are compared themselves."""


def laid_out(commit: str, place: Path) -> Path:
    """Lay the files of a commit into ``place``; ``.`` is the working tree itself."""
    if commit == ".":
        return ROOT
    place.mkdir(parents=True)
    packed = subprocess.run(["git", "archive", commit], cwd=ROOT, check=True, capture_output=True).stdout
    subprocess.run(["tar", "-x", "-C", str(place)], input=packed, check=True)
    return place


def results(tree: Path, out: Path, commands: list[str]) -> dict[str, str]:
    """Run the commands with the program in ``tree``; return a hash of every file and of what was said."""
    found: dict[str, str] = {}
    env = {**os.environ, "PYTHONPATH": str(tree), "COLUMNS": "120", "NO_COLOR": "1"}
    for name in commands:
        words = [word.replace("OUT", str(out)) for word in COMMANDS[name].split()]
        ran = subprocess.run(
            [sys.executable, "-m", "simstore", *words], cwd=tree, env=env, capture_output=True, text=True, check=False
        )
        said = (ran.stdout + ran.stderr).replace(str(out), "OUT").replace(str(tree), "TREE")
        found[f"{name}: words"] = said
        found[f"{name}: exit code"] = str(ran.returncode)
    for path in sorted(out.rglob("*")):
        if path.is_file() and path.name not in NOT_RESULTS:
            found[path.relative_to(out).as_posix()] = hashlib.sha256(path.read_bytes()).hexdigest()
    return found


def main(arguments: list[str]) -> int:
    """Compare two commits; say what differs."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("before")
    parser.add_argument("after")
    parser.add_argument("--only", nargs="*", choices=list(COMMANDS), default=list(COMMANDS))
    given = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as place:
        trees = [laid_out(commit, Path(place) / f"tree{n}") for n, commit in enumerate((given.before, given.after))]
        outs = [Path(place) / f"out{n}" for n in range(2)]
        with ThreadPoolExecutor(2) as both:
            before, after = both.map(results, trees, outs, [given.only] * 2)
    differing = [name for name in sorted({*before, *after}) if before.get(name) != after.get(name)]
    for name in differing:
        print(f"differs: {name}")
        if name.endswith("words"):
            print(f"--- {given.before}\n{before.get(name)}\n--- {given.after}\n{after.get(name)}")
    print("exit codes: " + ", ".join(f"{name} {before[f'{name}: exit code']}" for name in given.only))
    print(f"{len(before)} things compared, {len(differing)} differ")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
