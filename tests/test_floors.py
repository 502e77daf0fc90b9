"""The floors of the house: imports go down only, heavy libraries stay in their rooms, modules stay small."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "simstore"
FLOORS = {
    "units": 0,
    "errors": 0,
    "physics": 1,
    "scenario": 1,
    "sim": 2,
    "results": 3,
    "study": 3,
    "report": 4,
    "cli": 5,
    "__init__": 6,
    "__main__": 6,
}
SAME_FLOOR_ALLOWED = {("study", "results"), ("errors", "units"), ("units", "errors")}
HEAVY = {
    "simpy": {"sim"},
    "pandas": {"results", "study", "report"},
    "scipy": {"results", "study"},
    "matplotlib": {"report"},
    "jinja2": {"report"},
    "xlsxwriter": {"report"},
    "typer": {"cli"},
    "rich": {"cli"},
}
LAZY = ("pandas", "scipy", "matplotlib", "jinja2", "xlsxwriter", "rich")
"""May be imported inside functions only, outside the report."""
VAGUE = {"utils", "util", "helpers", "helper", "common", "misc"}
MODULES = sorted(PACKAGE.rglob("*.py"))
LONG_ON_PURPOSE = {
    "physics/quantity.py",
    "physics/uptake.py",
    "sim/staff.py",
    "study/cases.py",
    "study/compare.py",
    "study/feasible_cheapest.py",
}
"""Between 300 and 400 lines: looked at, one idea each, nothing to split off. Keep this list short."""


def room_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def imports(path: Path):
    """Yield (name, at module level, level of dots) of every import that is not for type checking only."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for inner in ast.walk(node)
    }
    nested = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, id(node) not in nested, 0, id(node) in skipped
        elif isinstance(node, ast.ImportFrom):
            yield node.module or "", id(node) not in nested, node.level, id(node) in skipped


def names(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def faults_of_floors(room: str, found) -> list[str]:
    faults = []
    for name, _, _, _ in found:
        parts = name.split(".")
        if parts[0] != "simstore" or len(parts) == 1 or parts[1] == room:
            continue
        if FLOORS[parts[1]] >= FLOORS[room] and (room, parts[1]) not in SAME_FLOOR_ALLOWED:
            faults.append(f"{room} imports {name}")
    return faults


@pytest.mark.parametrize("path", MODULES, ids=names)
def test_a_module_imports_from_lower_floors_only(path):
    assert room_of(path) in FLOORS, f"{path}: a room without a floor"
    assert faults_of_floors(room_of(path), imports(path)) == []


@pytest.mark.parametrize("path", MODULES, ids=names)
def test_heavy_libraries_stay_in_their_rooms(path):
    room = room_of(path)
    loaded = [name for name, _, _, typing_only in imports(path) if not typing_only]
    astray = [name for name in loaded if room not in HEAVY.get(name.split(".")[0], {room})]

    assert astray == []


@pytest.mark.parametrize("path", [path for path in MODULES if room_of(path) != "report"], ids=names)
def test_heavy_libraries_load_where_they_are_used_not_at_the_top(path):
    early = [
        name for name, top, _, typing_only in imports(path) if top and not typing_only and name.split(".")[0] in LAZY
    ]

    assert early == []


@pytest.mark.parametrize("path", MODULES, ids=names)
def test_imports_are_absolute(path):
    assert [name for name, _, level, _ in imports(path) if level] == []


@pytest.mark.parametrize("path", MODULES, ids=names)
def test_a_module_has_one_idea_a_telling_name_and_at_most_400_lines(path):
    lines = len(path.read_text(encoding="utf-8").splitlines())

    assert path.stem not in VAGUE
    assert lines <= 400, f"{lines} lines"
    assert lines <= 300 or names(path) in LONG_ON_PURPOSE, f"{lines} lines: split it"


def test_the_test_sees_an_import_that_goes_up(tmp_path):
    module = tmp_path / "bad.py"
    module.write_text("from simstore.report.save import svg_of\n")

    assert faults_of_floors("physics", imports(module)) == ["physics imports simstore.report.save"]


def loaded_by(statement: str) -> set[str]:
    code = f"import sys\n{statement}\nprint(*sys.modules)"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    return {name.split(".")[0] for name in found.split()}


def test_physics_loads_neither_simpy_nor_pandas_nor_matplotlib_nor_scipy():
    modules = ", ".join(f"simstore.physics.{path.stem}" for path in (PACKAGE / "physics").glob("[a-z]*.py"))

    assert (
        loaded_by(f"import simstore.physics, {modules}") & {"simpy", "pandas", "matplotlib", "scipy", "pydantic"}
        == set()
    )


def test_a_worker_of_the_simulation_loads_neither_pandas_nor_matplotlib_nor_scipy():
    assert loaded_by("import simstore.sim.run") & {"pandas", "matplotlib", "scipy", "typer"} == set()


def test_importing_the_package_loads_next_to_nothing():
    assert loaded_by("import simstore") & {"numpy", "pydantic", *HEAVY} == set()
