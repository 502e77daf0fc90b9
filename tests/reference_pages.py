"""The pages in ``reports/`` that are made from the code: every input, every result, and the equations.

    python tests/reference_pages.py            # makes the pages again
    python tests/reference_pages.py --check    # says whether they are up to date

The words come from where the program has them: the classes of ``simstore/scenario``, ``simstore/results/table_columns.py``,
``simstore/results/metric_names.py``, the docstrings of ``simstore/physics``, and ``tests/outside_checks.toml``.
"""

from __future__ import annotations

import sys
import types
import typing
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

import equations_page
from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from simstore.results.metric_names import METRICS
from simstore.results.table_columns import TABLES
from simstore.scenario.checking.document import catalogue
from simstore.scenario.checking.finding import shown
from simstore.scenario.checking.key_paths import members, models, own_keys, place_of, range_text, unit_text
from simstore.scenario.reading import logger
from simstore.scenario.values.fields import Lognormal
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.settings import Settings

REPORTS = Path(__file__).resolve().parents[1] / "reports"
MADE_BY = "Made by `python tests/reference_pages.py`; do not edit by hand."
TYPE_WORDS = {str: "text", int: "whole number", float: "number", bool: "true or false"}


def cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    lines = [f"| {' | '.join(heads)} |", f"| {' | '.join('---' for _ in heads)} |"]
    return [*lines, *(f"| {' | '.join(cell(part) for part in row)} |" for row in rows)]


# --- inputs ----------------------------------------------------------------------------------------------------------


def type_words(annotation: Any) -> str:
    """Say in a user's words what may be written at a key."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is Annotated:
        return type_words(arguments[0])
    if origin is Literal:
        return " or ".join(f"`{shown(value)}`" for value in arguments)
    if origin is typing.Union or isinstance(annotation, types.UnionType):
        words = [type_words(part) for part in arguments if part is not types.NoneType]
        return " or ".join(dict.fromkeys(words))
    if origin is tuple:
        if len(arguments) == 2 and arguments[1] is Ellipsis:
            return f"list of {type_words(arguments[0])}"
        return f"[{', '.join(type_words(part) for part in arguments)}]"
    if origin is dict:
        return f"table of {type_words(arguments[1])} by name"
    if annotation is Lognormal:
        return "`{ median, sigma_ln }`"
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "table"
    return TYPE_WORDS.get(annotation, getattr(annotation, "__name__", str(annotation)))


def default_words(info: Any) -> str:
    """Write the default; "needed" where there is none."""
    if info.is_required():
        return "**needed**"
    if info.default_factory is not None or info.default in ((), {}, None, ""):
        return "none"
    if info.default is PydanticUndefined:
        return "**needed**"
    return f"`{shown(info.default)}`"


MONEY = {
    "unit_price": "currency", "repair_price": "currency", "wage_per_h": "currency per h", "price_per_kg": "currency per kg",
    "energy_per_kwh": "currency per kWh", "disposal_per_kg": "currency per kg",
    "hazardous_disposal_per_kg": "currency per kg", "budget_per_year": "currency per year",
}  # fmt: skip


def unit_words(key: str, annotation: Any) -> str:
    """Name the unit of a key; money has that of ``prices.currency``."""
    return "" if annotation is bool else MONEY.get(key) or unit_text(key)


def written(value: Any) -> str:
    """Write a value as it would stand in the file, in full."""
    if isinstance(value, tuple):
        return f"[{', '.join(written(part) for part in value)}]"
    return shown(value)


def is_section(annotation: Any) -> bool:
    """Whether a key is told in a section of its own: a table, tables by name, or a list of tables."""
    for part in members(annotation):
        origin, arguments = typing.get_origin(part), typing.get_args(part)
        if isinstance(part, type) and issubclass(part, BaseModel) and part is not Lognormal:
            return True
        if origin in (dict, tuple) and arguments and any(models(argument) for argument in arguments):
            return True
    return False


def children(model: type[BaseModel], head: str) -> Iterator[tuple[str, type[BaseModel]]]:
    """Yield the sections below a table: how each is headed in the file, and its class."""
    base = head.strip("[]")
    dot = f"{base}." if base else ""
    for key, info in own_keys(model).items():
        for part in members(info.annotation):
            origin, arguments = typing.get_origin(part), typing.get_args(part)
            if origin is dict and models(arguments[1]):
                yield f"[{dot}{key}.NAME]", models(arguments[1])[0]
            elif origin is tuple and arguments and models(arguments[0]):
                yield f"[[{dot}{key}]]", models(arguments[0])[0]
            elif isinstance(part, type) and issubclass(part, BaseModel) and part is not Lognormal:
                yield f"[{dot}{key}]", part


def key_rows(model: type[BaseModel]) -> list[list[str]]:
    rows = []
    for key, info in own_keys(model).items():
        if is_section(info.annotation):
            continue
        rows.append(
            [
                f"`{key}`",
                type_words(info.annotation),
                unit_words(key, info.annotation),
                default_words(info),
                range_text(place_of(model, (key,)), ""),
                info.description or "",
            ]
        )
    return rows


def first_line(model: type[BaseModel]) -> str:
    return (model.__doc__ or "").strip().split("\n")[0]


def section_lines(model: type[BaseModel], head: str) -> Iterator[str]:
    """Yield the lines of one section and of those below it."""
    parts = list(children(model, head))
    rows = key_rows(model)
    level = "##" if head.strip("[]").removesuffix(".NAME").count(".") == 0 else "###"
    yield from ("", f"{level} `{head}`" if head else "## At the top of the file", "", first_line(model), "")
    if rows:
        yield from table(("Key", "Is", "Unit", "Default", "Allowed", "Meaning"), rows)
    if parts and head:
        names = ", ".join(f"`{name}` ({first_line(part).rstrip('.')})" for name, part in parts)
        yield from ("", f"Below it: {names}.")
    told: set[tuple[str, type[BaseModel]]] = set()
    for name, part in parts:
        if (name, part) in told or name.endswith(".desorption]"):
            continue
        told.add((name, part))
        yield from section_lines(part, name)


def built_in_lines() -> Iterator[str]:
    """Yield the built-in entries with their figures and sources."""
    yield from ("", "## Built-in films, gels and indicators", "")
    yield "A scenario may use these by name, or change single keys under the same name."
    for section, entries in catalogue().items():
        yield from ("", f"### `[{section}.…]`", "")
        rows = []
        for name, entry in entries.items():
            figures = {key: value for key, value in flat(entry).items() if key not in ("label", "source")}
            said = "; ".join(f"{key} {written(value)}" for key, value in figures.items())
            rows.append([f"`{name}`", entry["label"], said, entry["source"]])
        yield from table(("Name", "What", "Figures", "Source"), rows)


def flat(entry: dict[str, Any], before: str = "") -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in entry.items():
        if isinstance(value, dict):
            found |= flat(value, f"{before}{key}.")
        else:
            found[f"{before}{key}"] = value
    return found


CLIMATE_LINES = (
    f'`source = "logger"`: a CSV file with the columns {", ".join(f"`{name}`" for name in logger.COLUMNS)}. Times are',
    "in ISO form (2026-01-31 14:00), rising; readings are made into hourly means. The file must hold whole days, at",
    "least 365 of them. Readings must lie within "
    + ", ".join(f"{low:g}..{high:g} for `{name}`" for name, (low, high) in logger.RANGES.items())
    + ";",
    "nothing is repaired. Missing hours are refused unless `gaps` says how to fill them.",
    "",
    '`source = "epw"` and `source = "tmy3"`: hourly weather in these public formats. It is outdoor air, and',
    "`[climate.room]` puts a building around it.",
)


def input_page() -> str:
    """Every section and key of a scenario, the columns of its files, and the built-in entries."""
    lines = [
        "# Every input",
        "",
        f"{MADE_BY} The words and limits are those that `simstore check` goes by.",
        "",
        "A scenario is a folder with `scenario.toml`, or such a file, and the files that it names. Under *Default*,",
        "**needed** means that the key must be given and *none* that leaving it out means that there is none, or what",
        "*Meaning* says. Defaults of times, prices, people, ovens and climate are assumptions without a source, to be",
        "replaced by your own; built-in films, gels and indicators have theirs at the end of this page.",
        "Where it says `{ median, sigma_ln }`, one figure holds for all, or each enclosure draws its own from a",
        "lognormal distribution: `median`, above 0, and `sigma_ln`, 0..2.5, the standard deviation of its logarithm",
        "(0.7 is a factor 2). NAME stands for a name of your choice.",
        *section_lines(Settings, ""),
        "",
        "## The register",
        "",
        "A CSV file with a header and one row for each enclosure; commas, UTF-8, decimals with a point. A list with",
        "headings of its own, or a workbook, is read by the section `[list]`, which `simstore adopt` writes.",
        "Columns may stand in any order; those that are not needed may be left out. An empty cell takes the default.",
        "",
        *table(("Column", "Is", "Unit", "Default", "Allowed", "Meaning"), key_rows(Enclosure)),
        "",
        "## Measurements",
        "",
        "CSV or xlsx for `simstore fit`, one row for each measurement: `enclosure` (its id), `put_in` (day on which its gel",
        "was put in dry), `measured` (day of the measurement), `dry_g` and `wet_g` (mass of all its packets together, dry and",
        "on that day; `dry_g` may be empty), `read_rh_pct` (a logger inside, mean of the day). Either `wet_g` or",
        "`read_rh_pct` is given.",
        "",
        "## Climate files",
        "",
        *CLIMATE_LINES,
        *built_in_lines(),
    ]
    return "\n".join(lines) + "\n"


# --- results ---------------------------------------------------------------------------------------------------------

FILES = (
    ("summary.json", "each metric of each plan: unit, mean, and the ends of its 95 % interval"),
    ("manifest.json", "what the folder follows from (texts of the scenario, seed, versions) and a hash of every file"),
    ("NAME.csv", "the tables below; as NAME.parquet too with `--parquet`"),
    ("pictures/", "each chart as SVG, PNG, and CSV of what it shows"),
    ("report.html, budget.xlsx", "what `simstore report` adds"),
    ("find.json", "of `simstore find`: what was asked, the plan found, and why the next cheaper one was not"),
    ("found.json", "of `simstore run --found DIR`: which plan of the search that is"),
    ("rota.html, rota.ics", "of `simstore rota`: the sheet to print, and the sessions for a calendar (RFC 5545)"),
    ("leaks.toml", 'of `simstore fit`: what a scenario reads by `fit = "leaks.toml"`'),
    ("answer.txt", "of studies: the words that the terminal showed"),
    ("answer.json", "the same in blocks (paragraphs, tables, lists), from which the report is made"),
)
STUDY_TABLES = (
    (
        "find",
        "find_candidates",
        "every plan of the search: verdict, reason, what the screening expected, what runs gave",
    ),
    ("find", "marginal", "what one more of each means would buy"),
    ("find", "pareto", "plans that no other beats in both cost and margin"),
    ("compare", "inputs", "keys that differ between the plans, one column a plan"),
    ("compare", "differences", "each metric of each plan less that of the first, paired, with its interval"),
    ("compare", "changeover", "what must be bought to change over from the first plan"),
    ("compare", "years", "money paid in each year after changing over, and its discounted sum"),
    ("sweep", "points", "one row a point of the grid: its keys, whether it meets, mean, low and high of each metric"),
    ("stress", "stresses", "failures that were tried, and when"),
    ("stress", "losses", "what each failure costs each metal class, and the week in which it is recovered"),
    ("stress", "weeks", "share held in each week under each failure"),
    (
        "sensitivity",
        "inputs",
        "each uncertain input: its keys, the range that is believed of it, and where that comes from",
    ),
    ("sensitivity", "effects", "what each end of each range does to each result"),
    ("sensitivity", "knowing", "which plan would be chosen at each end, and what knowing it beforehand would be worth"),
    ("size", "sizes", "gel for the interval by kind and metal, beside the rule of a third and a formula"),
    ("rota", "sessions", "each session with its minutes by task and the packets to have ready"),
    ("rota", "work", "each step in walking order: what, where, why it is due, and what the list says beside"),
    ("rota", "sheet", "the same as rows to fill in; `simstore returned` takes them back"),
    ("rota", "due", "when each enclosure comes to its ceiling if nothing is done: 5 %, middle and 95 %"),
    ("fit", "leaks", "leak of each measured enclosure, with limits that hold nine of ten"),
    ("fit", "kinds", "each kind: median before and now with limits, and its spread"),
    ("fit", "measured", "each measurement beside what the leak found predicts"),
    ("sensitivity", "screening", "with `--morris`: elementary effects of all inputs moved at once"),
)
"""Tables of studies beside ``summary``, which each of them has too; a test compares them with the folders."""


def results_page() -> str:
    """Every file, table, column and metric of the results."""
    lines = [
        "# Every result",
        "",
        MADE_BY,
        "",
        "A command that computes writes one folder. Replications are numbered from 0; one number is the same luck under",
        "every plan. Minutes, days and weeks count from the first midnight of the run; a year is 365 days. An empty cell",
        "means that there is no value. No table holds the time at which it was made.",
        "",
        "## Files",
        "",
        *table(("File", "What"), [(f"`{name}`", what) for name, what in FILES]),
        "",
        "## Metrics",
        "",
        "Names in `summary.json` and in the table `summary`. Where a metric is *by* something, its name is followed by a",
        "dot and the name of the metal class, packet or task: `held_pct.iron`. What has /a in its unit is for a year.",
        "",
        *table(
            ("Metric", "By", "Unit", "Better", "Meaning"),
            [(f"`{m.name}`", m.by, m.unit, {1: "higher", -1: "lower", 0: ""}[m.better], m.meaning) for m in METRICS],
        ),
        "",
        "## Tables of a run",
    ]
    for name, columns in TABLES.items():
        rows = [
            (f"`{c.name}`", c.dtype.lower().removesuffix("64").replace("str", "text"), c.unit, c.meaning)
            for c in columns
        ]
        lines += ["", f"### `{name}.csv`", "", *table(("Column", "Type", "Unit", "Meaning"), rows)]
    lines += [
        "",
        "## Tables of studies",
        "",
        "Each study has the table `summary` too, with the metrics of every run.",
        "",
        *table(("Command", "Table", "What"), [(f"`{c}`", f"`{name}.csv`", what) for c, name, what in STUDY_TABLES]),
    ]
    return "\n".join(lines) + "\n"


PAGES: dict[str, Callable[[], str]] = {
    "input-reference.md": input_page,
    "results-reference.md": results_page,
    "model.md": equations_page.page,
}


def main(arguments: Sequence[str]) -> int:
    stale = []
    for name, make in PAGES.items():
        text, path = make(), REPORTS / name
        if "--check" in arguments:
            if not path.exists() or path.read_text(encoding="utf-8") != text:
                stale.append(name)
        else:
            path.write_text(text, encoding="utf-8", newline="\n")
    for name in stale:
        print(f"reports/{name} is out of date: run python tests/reference_pages.py")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
