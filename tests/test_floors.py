"""The floors of the house: imports go down only, heavy libraries stay in their rooms, modules stay small."""

import ast
import functools
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

PACKAGE = Path(__file__).parents[1] / "simstore"
FLOORS = {
    "units": 0,
    "errors": 0,
    "exchange_rules": 0,
    "physics": 1,
    "scenario": 1,
    "statistics": 1,
    "store": 2,
    "sim": 3,
    "money": 3,
    "plans": 3,
    "results": 4,
    "lab": 5,
    "study": 6,
    "prose": 7,
    "report": 8,
    "questions": 9,
    "cli": 10,
    "__init__": 11,
    "__main__": 11,
}
SAME_FLOOR_ALLOWED = {("errors", "units"), ("units", "errors")}
INNER_FLOORS = {
    "scenario/values": 0,
    "scenario/checking": 1,
    "scenario/workbook": 2,
    "scenario/reading": 3,
    "scenario/adopting": 4,
    "scenario/returning": 4,
    "prose/answers": 0,
    "prose/sections": 1,
    "report/charts": 0,
    "report/page": 1,
    "report/workbook": 2,
    "report/rota": 2,
}
"""Rooms within a room, where one stands above another."""
STILL_UPWARD = {
    ("plans/found.py", "simstore.study.sweep.grid"),
    ("results/reading.py", "simstore.study.compare.comparison"),
}
"""Left by the move into rooms, to be mended; nothing may be added."""
HEAVY = {
    "simpy": {"sim"},
    "pandas": {"results", "lab", "study", "prose", "report", "questions"},
    "scipy": {"statistics", "results", "lab", "study"},
    "matplotlib": {"report"},
    "jinja2": {"report"},
    "xlsxwriter": {"report"},
    "typer": {"cli"},
    "rich": {"cli"},
}
LOADED_WITH_PANDAS = {"report", "prose", "results/pooled.py"}
"""Nothing loads these before there are tables to read."""
LAZY = ("pandas", "scipy", "matplotlib", "jinja2", "xlsxwriter", "rich")
"""May be imported inside functions only, elsewhere."""
VAGUE = {"utils", "util", "helpers", "helper", "common", "misc"}
MODULES = sorted(PACKAGE.rglob("*.py"))
LONG_ON_PURPOSE = {
    "study/compare/comparison.py",
    "statistics/cheapest_feasible.py",
}
"""Between 300 and 400 lines: looked at, one idea each, nothing to split off. Keep this list short."""


def room_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


class Import(NamedTuple):
    """One imported module: its name, at module level or in a function, dots in front, for type checking only."""

    name: str
    top: bool
    dots: int
    typing_only: bool


def loaded_with_pandas(path: Path) -> bool:
    return bool({room_of(path), names(path)} & LOADED_WITH_PANDAS)


@functools.cache
def imports(path: Path) -> tuple[Import, ...]:
    """Every import of a file, in one walk through its syntax tree."""
    found: list[Import] = []

    def walk(node: ast.AST, *, top: bool, typing_only: bool) -> None:
        if isinstance(node, ast.Import):
            found.extend(Import(alias.name, top, 0, typing_only) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            found.append(Import(node.module or "", top, node.level, typing_only))
        top = top and not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        typing_only = typing_only or (isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test))
        if not isinstance(node, ast.expr):
            for child in ast.iter_child_nodes(node):
                walk(child, top=top, typing_only=typing_only)

    walk(ast.parse(path.read_text(encoding="utf-8")), top=True, typing_only=False)
    return tuple(found)


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


def test_every_module_imports_from_lower_floors_only():
    faults = []
    for path in MODULES:
        assert room_of(path) in FLOORS, f"{path}: a room without a floor"
        found = [entry for entry in imports(path) if (names(path), entry.name) not in STILL_UPWARD]
        faults += [f"{names(path)}: {fault}" for fault in faults_of_floors(room_of(path), found)]

    assert faults == []


def test_what_is_left_of_upward_imports_is_listed_and_nothing_else_is():
    there = {(names(path), entry.name) for path in MODULES for entry in imports(path)}

    assert sorted(STILL_UPWARD - there) == [], "mended: take it off the list"


def test_rooms_within_a_room_look_down_only():
    faults = []
    for path in MODULES:
        here = path.parent.relative_to(PACKAGE).as_posix()
        for name, _, _, _ in imports(path):
            there = "/".join(name.split(".")[1:3])
            same_house = there.split("/")[0] == here.split("/")[0] and there != here
            if same_house and {here, there} <= INNER_FLOORS.keys() and INNER_FLOORS[there] >= INNER_FLOORS[here]:
                faults.append(f"{names(path)} imports {name}")

    assert faults == []


def circles(arrows: dict[str, set[str]]) -> list[list[str]]:
    """Groups of two or more nodes each of which reaches all others (Tarjan's strongly connected components)."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    path: list[str] = []
    found: list[list[str]] = []

    def visit(node: str) -> None:
        order[node] = low[node] = len(order)
        path.append(node)
        for other in sorted(arrows.get(node, ())):
            if other not in order:
                visit(other)
                low[node] = min(low[node], low[other])
            elif other in path:
                low[node] = min(low[node], order[other])
        if low[node] == order[node]:
            group = path[path.index(node) :]
            del path[path.index(node) :]
            if len(group) > 1:
                found.append(sorted(group))

    for node in sorted(arrows):
        if node not in order:
            visit(node)
    return found


def arrows_between(place) -> dict[str, set[str]]:
    """Which place imports which; ``place`` gives the place of a module by its dotted parts."""
    modules = {tuple(path.relative_to(PACKAGE).with_suffix("").parts): path for path in MODULES}
    found: dict[str, set[str]] = {}
    for parts, path in modules.items():
        for name, _, _, typing_only in imports(path):
            target = tuple(name.split(".")[1:])
            upward = (names(path), name) in STILL_UPWARD or len(parts) == 1
            if name.split(".")[0] == "simstore" and target in modules and not typing_only and not upward:
                here, there = place(parts), place(target)
                if here != there:
                    found.setdefault(here, set()).add(there)
    return found


def test_no_circle_of_files():
    assert circles(arrows_between("/".join)) == []


def test_no_circle_of_rooms_within_a_room():
    assert circles(arrows_between(lambda parts: "/".join(parts[:-1][:2]))) == []


def test_the_test_sees_a_circle():
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == [["a", "b", "c"]]


def test_heavy_libraries_stay_in_their_rooms():
    faults = []
    for path in MODULES:
        room = room_of(path)
        loaded = [entry.name for entry in imports(path) if not entry.typing_only]
        faults += [f"{names(path)}: {name}" for name in loaded if room not in HEAVY.get(name.split(".")[0], {room})]

    assert faults == []


def test_heavy_libraries_load_where_they_are_used_not_at_the_top():
    early = [
        f"{names(path)}: {entry.name}"
        for path in MODULES
        if not loaded_with_pandas(path)
        for entry in imports(path)
        if entry.top and not entry.typing_only and entry.name.split(".")[0] in LAZY
    ]

    assert early == []


def test_imports_are_absolute():
    assert [names(path) for path in MODULES for entry in imports(path) if entry.dots] == []


def test_every_module_has_one_idea_a_telling_name_and_at_most_400_lines():
    faults = []
    for path in MODULES:
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if path.stem in VAGUE:
            faults.append(f"{names(path)}: a name that tells nothing")
        if lines > (400 if names(path) in LONG_ON_PURPOSE else 300):
            faults.append(f"{names(path)}: {lines} lines: split it")
        if lines <= 300 and names(path) in LONG_ON_PURPOSE:
            faults.append(f"{names(path)}: no longer long, take it off the list")

    assert faults == []


def test_the_test_sees_imports_wherever_they_stand(tmp_path):
    module = tmp_path / "bad.py"
    module.write_text(
        "from simstore.report.charts.save import svg_of\n"
        "from . import here\n"
        "if TYPE_CHECKING:\n    import pandas as pd\n"
        "class C:\n    def f(self):\n        try:\n            import scipy\n        finally:\n            pass\n"
    )

    assert imports(module) == (
        Import("simstore.report.charts.save", top=True, dots=0, typing_only=False),
        Import("", top=True, dots=1, typing_only=False),
        Import("pandas", top=True, dots=0, typing_only=True),
        Import("scipy", top=False, dots=0, typing_only=False),
    )
    assert faults_of_floors("physics", imports(module)) == ["physics imports simstore.report.charts.save"]


def loaded_by(statement: str) -> set[str]:
    code = f"import sys\n{statement}\nprint(*sys.modules)"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    return {name.split(".")[0] for name in found.split()}


def test_physics_loads_neither_simpy_nor_pandas_nor_matplotlib_nor_scipy():
    modules = ", ".join(f"simstore.physics.{path.stem}" for path in (PACKAGE / "physics").glob("[a-z]*.py"))
    heavy = {"simpy", "pandas", "matplotlib", "scipy", "pydantic"}

    assert (loaded_by(f"import simstore.physics, {modules}") - loaded_by("import numba")) & heavy == set()


def test_a_worker_of_the_simulation_loads_neither_pandas_nor_matplotlib_nor_scipy():
    heavy = {"pandas", "matplotlib", "scipy", "typer"}

    assert (loaded_by("import simstore.sim.run") - loaded_by("import numba")) & heavy == set()


def test_importing_the_package_loads_next_to_nothing():
    assert loaded_by("import simstore") & {"numpy", "pydantic", *HEAVY} == set()
