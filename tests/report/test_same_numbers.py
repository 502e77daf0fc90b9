"""The terminal and the page are two renderers of one answer: they say the same numbers."""

import html
import json
import re
import shutil

import pytest
from typer.testing import CliRunner

from simstore.cli.app import app
from simstore.prose.blocks import Table, said_of
from simstore.prose.terminal import text_of
from simstore.report.writing import write_report

PLAIN = {"\u00a0": " ", "\u2212": "-"}


def numbers_in(text):
    """Numbers as they are said, with their signs; digits that belong together are joined."""
    for typographic, plain in PLAIN.items():
        text = text.replace(typographic, plain)
    joined = re.sub(r"(?<=\d) (?=\d{3}\b)", "", text).replace("..", " to ")
    return re.findall(r"(?<![\w.+-])[-+]?\d+(?:\.\d+)?", joined)


def shown_on(page):
    """Text of a page without its charts, where numbers stand as well."""
    text = re.sub(r"<(svg|script|style)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


@pytest.fixture(scope="module")
def answers(studies, searched):
    return {**studies, "find": searched / "search"}


@pytest.mark.parametrize("command", ["compare", "sweep", "stress", "sensitivity", "find"])
def test_every_number_on_the_terminal_is_on_the_page(answers, command, tmp_path):
    copy = shutil.copytree(answers[command], tmp_path / command)
    page, _ = write_report(copy)
    told = numbers_in((copy / "answer.txt").read_text(encoding="utf-8"))
    there = set(numbers_in(shown_on(page.read_text(encoding="utf-8"))))

    assert len(told) > 10
    assert [number for number in dict.fromkeys(told) if number not in there] == []


def test_every_number_that_a_run_says_on_the_terminal_is_on_its_page(results, tmp_path):
    words = f"run {results.parent / 'store'} --plan two_ovens --replications 3 --workers 1 --no-pictures --report"
    told = CliRunner().invoke(app, [*words.split(), "--out", str(tmp_path / "run")]).output.split("\nCautions")[0]
    there = set(numbers_in(shown_on((tmp_path / "run" / "report.html").read_text(encoding="utf-8"))))

    assert len(numbers_in(told)) > 30
    assert [number for number in dict.fromkeys(numbers_in(told)) if number not in there] == []


@pytest.mark.parametrize("command", ["compare", "sweep", "stress", "sensitivity", "find"])
def test_what_was_said_is_kept_as_it_was_said(answers, command):
    document = json.loads((answers[command] / "answer.json").read_text(encoding="utf-8"))

    assert text_of(said_of(document).blocks) == (answers[command] / "answer.txt").read_text(encoding="utf-8")


def test_the_test_sees_a_number_that_is_rounded_otherwise():
    assert numbers_in("It costs \u22121\u00a0234.5 EUR, 3 %, P-7, -2..-1.") == [
        "-1234.5", "3", "-2", "-1",
    ]  # fmt: skip
    assert not set(numbers_in("loads 8.0")) <= set(numbers_in("8 loads"))


@pytest.mark.parametrize("command", ["compare", "sweep", "stress", "sensitivity", "find"])
def test_every_table_is_whole_and_its_headings_are_words(answers, command):
    said = said_of(json.loads((answers[command] / "answer.json").read_text(encoding="utf-8")))
    tables = [block for block in said.blocks if isinstance(block, Table)]

    assert tables or command == "stress", "this little store loses nothing to any failure"
    for table in tables:
        assert all(len(row) == len(table.columns) for row in table.rows)
        assert not any("_" in text for column in table.columns for text in (column.unit, column.short or ""))
        assert table.caption
