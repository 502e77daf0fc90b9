"""What `simstore --help` loads: next to nothing, so that it answers at once. No clock is read here."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

HEAVY = {"jinja2", "matplotlib", "numpy", "pandas", "rich", "scipy", "simpy", "xlsxwriter"}
"""Not pydantic, with which the command line's own library may check the arguments of a command."""
ASK = """
import sys
sys.argv = ["simstore", *{words!r}]
from simstore.cli.app import main
try:
    main()
except SystemExit as end:
    code = end.code
print("CODE", code)
print("LOADED", *sys.modules)
"""


def asked(*words):
    """Exit code, what was printed, and the modules that were loaded."""
    program = ASK.format(words=list(words))
    text = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    said, _, rest = text.partition("CODE ")
    code, _, modules = rest.partition("\nLOADED ")
    return int(code), said, set(modules.split())


@pytest.mark.parametrize(
    "words",
    [
        ["--help"],
        *([name, "--help"] for name in ("run", "check", "start", "compare", "find", "sweep", "stress", "report")),
    ],
    ids=" ".join,
)
def test_help_loads_no_heavy_library(words):
    code, said, modules = asked(*words)

    assert code == 0
    assert "Usage: " in said
    assert {name.split(".")[0] for name in modules} & HEAVY == set()


def test_help_loads_no_more_of_simstore_than_the_questions_with_their_options():
    modules = asked("--help")[2]
    own = {name for name in modules if name.startswith("simstore.")}

    assert "pydantic" not in modules
    assert {name.split(".")[1] for name in own} == {"cli", "questions", "errors"}


def test_the_test_sees_what_a_command_that_computes_loads():
    assert "numpy" in asked("check", "scenarios/tiny")[2]


def test_starting_loads_no_heavy_library_either(tmp_path):
    code, said, modules = asked("start", str(tmp_path / "new"))

    assert code == 0
    assert "Wrote " in said
    assert {name.split(".")[0] for name in modules} & HEAVY == set()
