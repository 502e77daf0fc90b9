"""Files that are no files, texts that a terminal would obey, nesting without end: each is refused with a message."""

import os
import random
import time
from pathlib import Path

import pytest

from simstore.errors import SimstoreError, visible
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.reading.user_file import user_bytes

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
PIECES = (
    b'"', b"\x00", b"\xff", b",", b",,,,,,,,", b"\n", b"\r", b"'", b"nan", b"inf", b"1e309", b"-1", b"9" * 20,
    b"\xef\xbb\xbf", "\N{RIGHT-TO-LEFT OVERRIDE}".encode(), b"=", b"[", b"]]", b"{", b"a.b.c = 1\n",
    b"[a" + b".a" * 450 + b"]\n", b"\x1b[31m", b'"""', b"9999-12-31", b"x" * 70_000, b"\t", b";" * 50,
)  # fmt: skip


@pytest.fixture
def store(tmp_path):
    for name in ("scenario.toml", "register.csv"):
        (tmp_path / name).write_bytes((TINY / name).read_bytes())
    return tmp_path


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
@pytest.mark.parametrize("name", ["scenario.toml", "register.csv"])
def test_a_pipe_is_refused_and_not_waited_for(name, store):
    (store / name).unlink()
    os.mkfifo(store / name)
    begun = time.monotonic()
    with pytest.raises(SimstoreError, match="is a pipe or a device"):
        load_scenario(store)
    assert time.monotonic() - begun < 5.0


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device")
def test_a_device_without_end_is_refused(store):
    (store / "register.csv").unlink()
    (store / "register.csv").symlink_to("/dev/zero")
    with pytest.raises(SimstoreError, match="is a pipe or a device"):
        load_scenario(store)


def test_a_file_that_is_far_too_large_is_refused_unread(store):
    with (store / "register.csv").open("wb") as file:
        file.truncate(3_000_000_000)  # a hole: takes no room
    with pytest.raises(OSError, match="400 MB at most"):
        user_bytes(store / "register.csv")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('title = "Tiny store"', 'title = "Tiny \\u001b[31mstore"', "title = Tiny <001B>[31mstore: holds a sign that is not seen"),
        ('label = "copper alloy"', 'label = "\\u202Ealloy"', "metals.copper.label"),
        ("seed = 7", "seed = 7\n[a" + ".a" * 450 + "]\nb = 1", "keys within keys"),
        ("seed = 7", "seed = " + "[" * 400 + "]" * 400, "problem"),
    ],
)  # fmt: skip
def test_what_a_terminal_would_obey_or_never_ends_is_refused(old, new, says, store):
    text = (store / "scenario.toml").read_text(encoding="utf-8")
    (store / "scenario.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(SimstoreError) as caught:
        load_scenario(store)
    assert says in str(caught.value)
    assert visible(str(caught.value)) == str(caught.value)


def test_a_place_with_a_control_character_is_refused(store):
    text = (store / "register.csv").read_text(encoding="utf-8")
    (store / "register.csv").write_text(text.replace("shelf 1", "shelf\x1b[2J 1", 1), encoding="utf-8")
    with pytest.raises(SimstoreError, match="place = shelf<001B>"):
        load_scenario(store)


def mutated(data, luck):
    """Do to a file what a disk, a hurry or an enemy does to it."""
    data = bytearray(data)
    for _ in range(luck.choice((1, 1, 2, 5))):
        at, what = luck.randrange(len(data) + 1), luck.random()
        lines = bytes(data).split(b"\n")
        line = luck.randrange(len(lines))
        if what < 0.45:
            data[at:at] = luck.choice(PIECES)
        elif what < 0.6:
            del data[at : at + luck.choice((1, 3, 20, 200))]
        elif what < 0.75:
            data[at : at + luck.choice((1, 3, 8))] = luck.choice(PIECES)
        elif what < 0.85:
            data = bytearray(b"\n".join([*lines[:line], *[lines[line]] * luck.choice((2, 50)), *lines[line + 1 :]]))
        elif what < 0.95:
            data = bytearray(b"\n".join([*lines[:line], *lines[line + 1 :]]))
        else:
            data = data[:at]
    return bytes(data)


def said_of(store):
    try:
        load_scenario(store)
    except SimstoreError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("name", ["scenario.toml", "register.csv"])
def test_damaged_files_are_read_or_refused_in_a_message_that_is_short_and_plain(name, store):
    luck = random.Random(20261126)
    sound = (TINY / name).read_bytes()
    refused = 0
    for _ in range(250):
        (store / name).write_bytes(mutated(sound, luck))
        begun = time.monotonic()
        said = said_of(store)
        refused += said != ""
        assert visible(said) == said
        assert len(said) < 100_000
        assert time.monotonic() - begun < 10.0
    assert refused > 150
