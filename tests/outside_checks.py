"""The table of outside checks: what somebody else published against what simstore computes.

``tests/outside_checks.toml`` holds the rows, typed from their sources. Each module in ``tests/outside/`` has a
``COMPUTES`` dictionary from a row's id to a function that computes our value; that is all it takes to add checks.

    python tests/outside_checks.py            # makes reports/outside-checks.md again
    python tests/outside_checks.py --check    # says whether it is up to date

``wrong`` names a constant or a function of simstore; a fifth too large or too small, it must make the row fail, and a
test makes sure of it: a row that cannot fail checks nothing.

A row with ``miss`` is a known disagreement: the test then insists that it still disagrees, so that a mended one is
noticed, and the page shows it as a miss with its reason. Bounds are never widened to make a row pass.
"""

from __future__ import annotations

import importlib.util
import math
import sys
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
TABLE = HERE / "outside_checks.toml"
MODULES = HERE / "outside"
PAGE = HERE.parent / "reports" / "outside-checks.md"

KINDS = ("published", "derived", "common practice", "from memory")
BOUNDS = ("rel", "abs", "factor", "at_least", "exact")

Compute = Callable[[], float | Sequence[float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One check: what is expected, from where, and how near we must come."""

    id: str
    what: str
    source: str
    expected: tuple[float, ...]
    bound: str
    allowed: float
    unit: str
    kind: str
    wrong: str = ""
    miss: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Our values, whether they pass, and how much of the bound the worst one uses (1 is all of it)."""

    computed: tuple[float, ...]
    passes: bool
    used: float


def as_tuple(values: float | Sequence[float]) -> tuple[float, ...]:
    if isinstance(values, (int, float)):
        return (float(values),)
    return tuple(float(value) for value in values)


def read_rows(path: Path = TABLE) -> list[Row]:
    """Read the table; its rows are sorted by id."""
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    rows = []
    for item in document["check"]:
        bound = item["bound"]
        row = Row(
            **{key: value for key, value in item.items() if key not in ("expected", "bound")},
            expected=as_tuple(item["expected"]),
            bound=bound["kind"],
            allowed=float(bound.get("value", 0.0)),
        )
        if row.kind not in KINDS or row.bound not in BOUNDS:
            msg = f"{path.name}: {row.id}: kind {row.kind!r} or bound {row.bound!r} is unknown"
            raise ValueError(msg)
        rows.append(row)
    return sorted(rows, key=lambda row: row.id)


def read_computes(folder: Path = MODULES) -> dict[str, Compute]:
    """Collect ``COMPUTES`` of every module in the folder; one id must not appear twice."""
    computes: dict[str, Compute] = {}
    for path in sorted(folder.glob("*.py")):
        name = f"outside_checks_of_{path.stem}"
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
        twice = computes.keys() & module.COMPUTES.keys()
        if twice:
            msg = f"{path.name}: computed elsewhere too: {', '.join(sorted(twice))}"
            raise ValueError(msg)
        computes.update(module.COMPUTES)
    return computes


def judge(row: Row, computed: float | Sequence[float]) -> Verdict:
    """Compare our values with the expected ones."""
    ours = as_tuple(computed)
    if len(ours) != len(row.expected):
        msg = f"{row.id}: {len(ours)} values computed, {len(row.expected)} expected"
        raise ValueError(msg)
    used = max(used_share(row, mine, theirs) for mine, theirs in zip(ours, row.expected, strict=True))
    return Verdict(ours, used <= 1.0, used)


def used_share(row: Row, ours: float, expected: float) -> float:
    """How much of the bound one value uses; above 1 it is missed."""
    if not math.isfinite(ours):
        return math.inf
    if row.bound == "rel":
        return abs(ours / expected - 1.0) / row.allowed
    if row.bound == "abs":
        return abs(ours - expected) / row.allowed
    if row.bound == "factor":
        return abs(math.log(ours / expected)) / math.log(row.allowed) if ours > 0 else math.inf
    if row.bound == "at_least":
        return expected / ours if ours > 0 else math.inf
    return 0.0 if ours == expected else math.inf


def short(values: Sequence[float]) -> str:
    return ", ".join(f"{value:.5g}" for value in values)


def bound_text(row: Row) -> str:
    if row.bound == "rel":
        share = row.allowed * 100
        return f"± {share:g} %" if share >= 0.1 else f"± {row.allowed * 1e6:g} ppm"
    return {
        "abs": f"± {row.allowed:g}",
        "factor": f"within a factor of {row.allowed:g}",
        "at_least": "at least",
        "exact": "exact",
    }[row.bound]


def page(rows: Sequence[Row], verdicts: dict[str, Verdict]) -> str:
    """Write the readable page; the same rows and values give the same bytes."""
    missed = [row for row in rows if not verdicts[row.id].passes]
    lines = [
        "# Outside checks",
        "",
        "What somebody else published, derived or does, against what simstore computes. Made by",
        "`python tests/outside_checks.py` from `tests/outside_checks.toml`; do not edit by hand.",
        "",
        f"{len(rows)} rows, {len(rows) - len(missed)} within their bound, {len(missed)} known not to be.",
        "",
        "*Used* is the share of the bound that the worst value of the row uses (for *at least*: expected over computed).",
        "",
        "| check | what | unit | expected | bound | computed | used | within | kind | source |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for row in rows:
        verdict = verdicts[row.id]
        used = "–" if row.bound == "exact" else f"{verdict.used:.0%}"
        cells = (
            f"`{row.id}`", row.what, row.unit, short(row.expected), bound_text(row), short(verdict.computed), used,
            "yes" if verdict.passes else "**no**", row.kind, row.source,
        )  # fmt: skip
        lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    lines += ["", "## Known misses", ""]
    lines += [f"- `{row.id}`: {row.miss or 'not explained yet'}" for row in missed] or ["None."]
    return "\n".join(lines) + "\n"


def made_page() -> str:
    rows, computes = read_rows(), read_computes()
    return page(rows, {row.id: judge(row, computes[row.id]()) for row in rows})


def main(arguments: Sequence[str]) -> int:
    text = made_page()
    if "--check" in arguments:
        return 0 if PAGE.is_file() and PAGE.read_text(encoding="utf-8") == text else 1
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
