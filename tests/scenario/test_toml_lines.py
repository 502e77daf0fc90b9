"""Laws of the line index on generated TOML texts, whose lines are known because the test writes them."""

from __future__ import annotations

import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from simstore.scenario.reading.toml_lines import line_index, line_of

PLAIN = st.text("abcdefgh_", min_size=1, max_size=5)
QUOTED = st.text("abc .#[]=", min_size=1, max_size=6).map(lambda text: f'"{text}"')
KEY = st.one_of(PLAIN, QUOTED)
VALUE = st.sampled_from(
    [
        "1",
        "-2.5",
        "true",
        "2026-01-31",
        '"text # no remark"',
        "'[not a header]'",
        '"""\n[fake]\nkey = 1\n"""',
        "'''\n[[fake]]\n'''",
        "[1, 2]",
        "[\n  1, # one\n  2,\n]",
        "{ x = 1, y = [1, 2] }",
        "[[1, 2], [3]]",
        "[{ a = 1 }, { a = 2 }]",
    ]
)
NOISE = st.sampled_from(["", "# remark", "   ", "# [fake]", '# key = """'])


def bare(key: str) -> str:
    return key.strip('"')


@st.composite
def texts(draw):
    """A text and the line of each key that it was written with."""
    lines: list[str] = []
    expected: dict[tuple[str | int, ...], int] = {}

    def entries(prefix):
        for key in draw(st.lists(KEY, max_size=3, unique_by=bare)):
            lines.extend(draw(st.lists(NOISE, max_size=2)))
            expected[(*prefix, bare(key))] = len(lines) + 1
            lines.extend(f"{key} = {draw(VALUE)}".split("\n"))

    entries(())
    used = {path[0] for path in expected}
    for name in draw(st.lists(PLAIN, max_size=3, unique=True)):
        if name in used:
            continue
        if draw(st.booleans()):
            lines.append(f"[{name}.sub] # remark")
            expected[(name, "sub")] = len(lines)
            entries((name, "sub"))
        else:
            for position in range(draw(st.integers(1, 3))):
                lines.append(f"[[{name}]]")
                expected[(name, position)] = len(lines)
                entries((name, position))
                taken = {path[2] for path in expected if path[:2] == (name, position) and len(path) > 2}
                if draw(st.booleans()) and "inner" not in taken:
                    lines.append(f"[{name}.inner]")
                    expected[(name, position, "inner")] = len(lines)
                    entries((name, position, "inner"))
    return "\n".join(lines), expected


@settings(max_examples=150)
@given(texts())
def test_every_key_is_found_at_the_line_where_it_was_written(written):
    text, expected = written
    tomllib.loads(text)
    lines = line_index(text)

    assert {path: lines.get(path) for path in expected} == expected


def leaves(value, path=()):
    if isinstance(value, dict):
        for key, part in value.items():
            yield (*path, key)
            yield from leaves(part, (*path, key))
    elif isinstance(value, list):
        for position, part in enumerate(value):
            yield (*path, position)
            yield from leaves(part, (*path, position))


@settings(max_examples=150)
@given(texts())
def test_no_key_path_of_the_parsed_text_is_without_a_line(written):
    text, _ = written
    lines = line_index(text)

    assert [path for path in leaves(tomllib.loads(text)) if path not in lines] == []


def test_dotted_keys_and_arrays_of_tables_within_arrays_of_tables_are_followed():
    text = "a.b.c = 1\na.b.d = 2\n[[k]]\n[[k.layers]]\nx = 1\n[[k.layers]]\nx = 2\n[[k]]\n[[k.layers]]\nx = 3\n"
    lines = line_index(text)

    assert [lines[path] for path in [("a", "b", "c"), ("a", "b", "d")]] == [1, 2]
    assert [lines[("k", k, "layers", layer, "x")] for k, layer in [(0, 0), (0, 1), (1, 0)]] == [5, 7, 10]


def test_a_missing_key_is_placed_at_the_nearest_table_around_it():
    lines = line_index("a = 1\n[ovens.small]\ntrays = 1\n")

    assert line_of(lines, ("ovens", "small", "cycle_h")) == 2
    assert line_of(lines, ("climate", "file")) is None
