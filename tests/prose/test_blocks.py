"""Blocks: the terminal lays them out in lines, and what is stored of them is read back as it was."""

import json

import pytest

from simstore.prose.blocks import (
    Cautions,
    Cell,
    Chart,
    Column,
    Data,
    Heading,
    Mark,
    Paragraph,
    Points,
    Said,
    Table,
    num,
    said_of,
)
from simstore.prose.phrases import MINUS, NBSP, NONE, number
from simstore.prose.terminal import text_of

COLUMNS = (Column("Plan", numeric=False, short="plan", most=8), Column("Cost", "EUR a year", short="EUR/a"))
ROWS = ([Cell("quarterly", short="quarterly"), num(-1234.5, 0)], [Cell("strip"), Cell(NONE)])
TABLE = Table(caption="Plans", columns=COLUMNS, rows=ROWS)
ALL = [
    Heading(text="Plans", only="page"),
    Paragraph(text=f"It costs {number(1234)} a year.", close=True),
    Points(points=[("Oven:", "out for a week."), ("", "Nobody there.")]),
    TABLE,
    Cautions(points=[("Drying:", "Ovens burn the skin.")]),
    Chart(picture="tradeoff", data=TABLE, marks=[Mark(1.0, 2.0, "strip", "strip", ["cheap"], (10.0, 20.0))], note="-"),
    Data(table="points", caption="Every point"),
]


def test_every_kind_of_block_is_read_back_as_it_was():
    back = said_of(json.loads(Said(title="Side by side", blocks=ALL).as_json()))

    assert back.title == "Side by side"
    assert Said(title="Side by side", blocks=back.blocks).as_json() == Said(title="Side by side", blocks=ALL).as_json()
    assert [type(block) for block in back.blocks] == [type(block) for block in ALL]


@pytest.mark.parametrize("document", [{}, {"title": "x", "blocks": [{"kind": "song"}]}, {"title": "x", "blocks": [{}]}])
def test_what_is_no_answer_is_not_read(document):
    with pytest.raises((KeyError, TypeError)):
        said_of(document)


def test_a_table_is_aligned_with_plain_signs_its_short_heads_and_long_cells_cut():
    assert text_of([TABLE]) == ("plan       EUR/a\nquart...  -1 234\nstrip          -\n")


def test_what_only_the_page_has_room_for_is_not_on_the_terminal():
    wide = Table(
        caption="x",
        columns=[Column("a"), Column("b", only="page"), Column("c")],
        rows=[[Cell("1"), Cell("2"), Cell("3")]],
    )

    assert text_of([Heading(text="x", only="page"), wide, Chart(picture="x"), Data(table="x", caption="x")]) == (
        "a  c\n1  3\n"
    )


def test_the_last_column_wraps_under_itself():
    table = Table(
        caption="x",
        columns=[Column("cost"), Column("plan", numeric=False, wraps=True)],
        rows=[[Cell("90"), Cell("word " * 20)]],
    )
    lines = text_of([table]).splitlines()

    assert max(map(len, lines)) <= 80
    assert [line[:6] for line in lines] == ["cost  ", "90    ", "      "]
    assert " ".join(" ".join(line[6:] for line in lines[1:]).split()) == " ".join(["word"] * 20)


def test_blocks_that_belong_together_have_no_empty_line_between_them():
    told = text_of([Paragraph(text="One."), Paragraph(text="Two.", close=True), Points(points=[("", "three")])])

    assert told == "One.\nTwo.\n\n  - three\n"


def test_paragraphs_break_at_80_letters_and_numbers_too_have_plain_spaces():
    told = text_of([Paragraph(text=f"It costs {MINUS}5{NBSP}200 EUR. " * 10)])

    assert max(map(len, told.splitlines())) <= 80
    assert "-5 200" in told
    assert NBSP not in told


def test_cautions_stand_under_their_name():
    told = text_of([Cautions(points=[("Drying:", "Ovens burn the skin."), ("", "Look it up.")])])

    assert told == "Cautions\n  - Drying: Ovens burn the skin.\n  - Look it up.\n"
