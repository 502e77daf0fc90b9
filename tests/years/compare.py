"""Print how far the simulation is from the stiff solver, case by case.

python tests/years/compare.py                      the kept years of the table
python tests/years/compare.py --epw FILE [FILE…]   all enclosures of the table in weather of your own, solved anew
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    os.environ["SIMSTORE_COMPILE_SOLVER"] = "1"

from years import lived, solved, store, weather


def line(case: store.Case, ours: lived.Lived, mean_pct: np.ndarray) -> str:
    apart = np.abs(ours.mean_pct - mean_pct)
    truly, over = mean_pct > case.ceiling_pct, ours.mean_pct > case.ceiling_pct
    return (
        f"{case.id:34} worst {apart.max():8.4f} %RH at hour {int(apart.argmax()):4}, {np.count_nonzero(apart > 0.05):4} h "
        f"over 0.05; hours over the ceiling {over.sum():5} / {truly.sum():5}; first {over.argmax():5} / {truly.argmax():5}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument(
        "--epw", type=Path, nargs="+", default=[], help="weather files to try instead of the table's rooms"
    )
    for path in parser.parse_args().epw:
        weather.add(str(path), weather.epw(path))
        year = lived.year(str(path))
        for case in store.cases():
            truth = solved.question(case, room=str(path)).solve(tolerance=1e-8)
            print(path.stem, line(case, year.cases[case.id], 100.0 * truth.mean), flush=True)
    if not parser.parse_args().epw:
        for case in store.cases():
            print(line(case, lived.year(case.room).cases[case.id], solved.answers()[case.id].mean_pct), flush=True)


if __name__ == "__main__":
    main()
