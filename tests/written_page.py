"""Reads Markdown pages for tests: fenced blocks with their language, links, and edits of a TOML file."""

from __future__ import annotations

import re
import shlex
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]


class Block(NamedTuple):
    """A fenced block: language and text."""

    language: str
    text: str


def blocks_of(page: Path) -> list[Block]:
    """All fenced blocks of a page, in order."""
    found = re.findall(r"^```(\w*)\n(.*?)^```$", page.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)
    return [Block(*pair) for pair in found]


def blocks_in(page: Path, language: str) -> list[str]:
    return [block.text for block in blocks_of(page) if block.language == language]


def commands_of(page: Path) -> list[list[str]]:
    """Every command of the console blocks as words; lines that && joins are several."""
    lines = "".join(blocks_in(page, "console")).splitlines()
    return [shlex.split(part) for line in lines for part in line.split(" && ")]


def links_of(page: Path) -> list[str]:
    """Targets of links and pictures inside the repository, without their anchors."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    found = [target.split("#")[0] for target in re.findall(r"\]\(([^)\s]+)\)", text)]
    return [target for target in found if target and "://" not in target]


def edited(toml: str, block: str) -> str:
    """Do by machine what a reader does with a block: change lines in their section, or put a new section at the end."""
    lines = toml.splitlines()
    section = ""
    for line in block.splitlines():
        if line.startswith("["):
            section = line.strip()
            if section not in lines:
                lines += ["", section]
        elif line.strip():
            begin = lines.index(section) + 1 if section else 0
            end = next((n for n in range(begin, len(lines)) if lines[n].startswith("[")), len(lines))
            key = line.split("=")[0]
            place = next((n for n in range(begin, end) if lines[n].startswith(key)), None)
            if place is not None:
                lines[place] = line
            elif end == len(lines):
                lines.append(line)
            else:
                msg = f"{section or 'top'}: no line begins with {key!r}, and the section is not the last"
                raise AssertionError(msg)
    return "\n".join(lines) + "\n"
