"""With a compiler that is not wanted or cannot be loaded the step is plain Python, and that is said."""

from __future__ import annotations

import os
import subprocess
import sys

ASK = "import simstore.physics.advance as step; print(hasattr(step.advance, 'py_func'))"


def asked(tmp_path, **env):
    path = os.pathsep.join([str(tmp_path), os.environ.get("PYTHONPATH", "")])
    return subprocess.run(
        [sys.executable, "-c", ASK],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": path, **env},
    )


def test_a_compiler_that_cannot_be_loaded_is_said_and_done_without(tmp_path):
    (tmp_path / "numba.py").write_text("raise AttributeError('half of it is missing')\n")

    answer = asked(tmp_path)

    assert answer.stdout == "False\n"
    assert answer.stderr.startswith(
        "note: numba cannot be loaded (half of it is missing): the step in time runs uncompiled"
    )
    assert answer.stderr.count("\n") == 1


def test_a_compiler_that_is_not_wanted_is_not_loaded(tmp_path):
    (tmp_path / "numba.py").write_text("raise AttributeError('half of it is missing')\n")

    answer = asked(tmp_path, SIMSTORE_UNCOMPILED="1")

    assert (answer.stdout, answer.stderr) == ("False\n", "")


def test_with_it_the_step_is_compiled(tmp_path):
    assert asked(tmp_path).stdout == "True\n"
