"""The pages that are made from the code are up to date, complete, and say something of every key."""

import re

import pytest
import reference_pages
from cli import test_study_commands
from reference_pages import PAGES, REPORTS, STUDY_TABLES
from written_page import ROOT

from simstore.results.metric_names import METRICS
from simstore.results.table_columns import TABLES
from simstore.scenario.checking.key_paths import models, own_keys
from simstore.scenario.values.housing import Enclosure
from simstore.scenario.values.settings import Settings


def classes(annotation, seen):
    import typing

    for model in models(annotation):
        if model not in seen:
            seen.add(model)
            for info in model.model_fields.values():
                classes(info.annotation, seen)
    for part in typing.get_args(annotation):
        classes(part, seen)
    return seen


EVERY_KEY = sorted(
    (model.__name__, key, field)
    for model in classes(Settings, {Enclosure})
    for (key, info), field in zip(own_keys(model).items(), model.model_fields, strict=True)
)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_what_the_code_says_now(name):
    assert (REPORTS / name).read_text(encoding="utf-8") == PAGES[name](), "run python tests/reference_pages.py"


def test_the_check_tells_a_stale_page(monkeypatch, capsys):
    monkeypatch.setitem(PAGES, "model.md", lambda: "other words")

    assert reference_pages.main(["--check"]) == 1
    assert "reports/model.md is out of date" in capsys.readouterr().out


INPUTS = (REPORTS / "input-reference.md").read_text(encoding="utf-8")


def test_every_key_stands_in_the_input_reference_with_a_meaning_or_as_a_section_of_its_own():
    silent = []
    for model, key, _ in EVERY_KEY:
        meanings = [row.split("|")[-1].strip() for row in re.findall(rf"^\| `{key}` \|(.*)\|$", INPUTS, re.MULTILINE)]
        section = re.search(rf"^#+ `\[+(?:\S*\.)?{key}[.\]]", INPUTS, re.MULTILINE)
        named_above = key == "desorption" or model == "Lognormal"  # told where the isotherm, and the spread, are
        if not (all(meanings) and (meanings or section)) and not (named_above and key in INPUTS):
            silent.append(f"{model}.{key}")

    assert silent == []


def test_every_key_is_read_by_the_program():
    """A key that is accepted and ignored is worse than an unknown one."""
    code = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "simstore").rglob("*.py"))
    ignored = [f"{model}.{key}" for model, key, field in EVERY_KEY if not re.search(rf"\.{field}\b", code)]

    assert ignored == ["DubininAstakhov.form", "Toth.form", "DataSheet.form"] or ignored == []


def test_every_table_column_and_metric_is_in_the_results_reference():
    page = (REPORTS / "results-reference.md").read_text(encoding="utf-8")
    names = [*TABLES, *(column.name for columns in TABLES.values() for column in columns), *(m.name for m in METRICS)]

    assert [name for name in names if f"`{name}" not in page] == []


def test_the_tables_of_studies_are_those_that_the_commands_write():
    told = {(command, name) for command, name, _ in STUDY_TABLES if command not in ("find", "size", "rota", "fit")}
    written = {(command, name) for command, names in test_study_commands.TABLES.items() for name in names}

    assert told | {(command, "summary") for command, _ in written} == written


def test_the_equations_page_has_every_equation_and_source_of_the_physics():
    page = (REPORTS / "model.md").read_text(encoding="utf-8")
    code = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "simstore" / "physics").glob("*.py"))

    assert page.count("```math") == code.count(".. math::")
    assert page.count("\nSource: ") == len(re.findall(r"^ *\.\. \[\d+\]", code, re.MULTILINE))
