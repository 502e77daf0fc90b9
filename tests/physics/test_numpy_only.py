"""Physics needs numpy and nothing else."""

from __future__ import annotations

import subprocess
import sys


def test_importing_physics_loads_numpy_only():
    heavy = "simpy pandas matplotlib scipy pydantic typer rich jinja2 xlsxwriter"
    code = f"import sys, simstore.physics; print([name for name in '{heavy}'.split() if name in sys.modules])"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert answer.stdout.strip() == "[]"
