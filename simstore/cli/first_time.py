"""What is said before the first simulation about the compiled step."""

from __future__ import annotations

import sys


def say_how_the_step_runs() -> None:
    """Say on the error stream that the step is compiled now, once, or that it runs uncompiled."""
    from simstore.physics.kept_code import SLOW_NOTE, compiler_version, is_kept

    if not compiler_version():
        sys.stderr.write(f"note: {SLOW_NOTE}\n")
    elif not is_kept() and sys.stderr.isatty():
        sys.stderr.write("compiling the step in time, once on this machine: some 15 seconds ...\n")
