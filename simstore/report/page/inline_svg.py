"""A saved SVG made fit to stand inside a page, beside others, and to be read aloud."""

from __future__ import annotations

import re
from typing import Final
from xml.sax.saxutils import quoteattr

_METADATA: Final = re.compile(r"\s*<metadata>.*?</metadata>", re.DOTALL)
_COMMENT: Final = re.compile(r"\s*<!--.*?-->", re.DOTALL)
_ID: Final = re.compile(r'(?<![\w:-])id="([^"]+)"')
_PATH: Final = re.compile(r'(?<= )d="([^"]*)"')
_MOVE: Final = re.compile(r"translate\(([^)]*)\)")
_BREAK: Final = re.compile(r"\s*\n\s*")
_GROUP: Final = re.compile(r'<g id="[^"]*"')
_FINE: Final = re.compile(r"-?\d+\.\d{3,}")
_PREFIX: Final = re.compile(r"[A-Za-z][A-Za-z0-9_-]*\Z")


def inlined(svg: str, *, prefix: str, label: str) -> str:
    """Make a saved chart part of the page, as :func:`inline_svg` does, and short.

    Places are rounded to a hundredth of a point, which nobody sees; groups lose their ids, which nothing refers to.
    """
    for pattern, rounded in ((_PATH, r'd="{}"'), (_MOVE, r"translate({})")):
        svg = pattern.sub(lambda match, form=rounded: form.format(_FINE.sub(_rounded, match[1])), svg)  # type: ignore[misc]
    svg = _GROUP.sub("<g", _BREAK.sub("\n", svg)).replace(" xlink:href=", " href=")
    return inline_svg(svg, prefix=prefix, label=label)


def _rounded(match: re.Match[str]) -> str:
    return f"{float(match[0]):.2f}".rstrip("0").rstrip(".")


def inline_svg(svg: str, *, prefix: str, label: str) -> str:
    """Return the bare ``<svg>`` element of a saved chart, with ids of its own and a label for screen readers.

    Prolog, document type, metadata and comments go; every id and every reference to it gets ``prefix``, so that
    several charts on one page share none; width and height go, so that the page sets the width.

    Parameters
    ----------
    svg : str
        Text of a saved SVG file.
    prefix : str
        Letters, digits, hyphens and underscores, unique on the page.
    label : str
        What the chart says, in a sentence.

    Raises
    ------
    ValueError
        If there is no ``<svg>`` element, or the prefix cannot begin an id.
    """
    if not _PREFIX.match(prefix):
        msg = f"prefix {prefix!r} must begin with a letter and have only letters, digits, '-' and '_'"
        raise ValueError(msg)
    start, end = svg.find("<svg"), svg.rfind("</svg>")
    if start < 0 or end < 0:
        msg = "no <svg> element in the text"
        raise ValueError(msg)
    body = _COMMENT.sub("", _METADATA.sub("", svg[start : end + len("</svg>")]))
    own = {name: f"{prefix}-{name}" for name in _ID.findall(body)}

    def renamed(match: re.Match[str]) -> str:
        return f"{match[1]}{own.get(match[2], match[2])}{match[3]}"

    body = re.sub(r'(?<![\w:-])(id=")([^"]+)(")', renamed, body)
    body = re.sub(r'(href="#)([^"]+)(")', renamed, body)
    body = re.sub(r"(url\(#)([^)]+)(\))", renamed, body)
    opening, rest = body.split(">", 1)
    opening = re.sub(r'\s(?:width|height|role|aria-label)="[^"]*"', "", opening)
    return f'{opening} role="img" aria-label={_attribute(label)}>{rest}'


def _attribute(text: str) -> str:
    """Quote ``text`` as an attribute in double quotes."""
    quoted = quoteattr(text, {'"': "&quot;"})
    return quoted if quoted.startswith('"') else f'"{quoted[1:-1]}"'
