"""A hash of all that a simulation follows from, so that an old one can never answer for a new program or scenario."""

from __future__ import annotations

import hashlib
import platform
from collections.abc import Iterator
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import NamedTuple

from simstore.physics.kept_code import compiler_version
from simstore.scenario.scenario import Scenario


class Program(NamedTuple):
    """What computes: versions, and a hash of every file of simstore.

    Attributes
    ----------
    numba : str
        "none" where the step runs uncompiled.
    python : str
        Without its last part, which changes no result.
    """

    simstore: str
    numpy: str
    simpy: str
    numba: str
    python: str
    text: str

    def unlike(self, other: Program) -> str:
        """Say in which versions another process differs; empty where it does not."""
        said = [
            f"{name} {theirs} where this process has {ours}"
            for name, ours, theirs in zip(self._fields, self, other, strict=True)
            if ours != theirs and name != "text"
        ]
        if not said and self.text != other.text:
            said = [f"other files of simstore {other.simstore} than this process"]
        return " and ".join(said)


@cache
def program() -> Program:
    """Return what computes in this process."""
    python = ".".join(platform.python_version_tuple()[:2])
    return Program(
        version("simstore"), version("numpy"), version("simpy"), compiler_version() or "none", python, _text_hash()
    )


def fingerprint(scenario: Scenario) -> str:
    """Hash all that the simulations of a plan follow from, with the program that simulates.

    Parameters
    ----------
    scenario : Scenario
        Under that plan; see :meth:`simstore.scenario.scenario.Scenario.under`.
    """
    digest = hashlib.sha256(repr(program()).encode())
    digest.update(scenario.settings.model_dump_json(by_alias=True, exclude={"search", "uncertain"}).encode())
    for enclosure in scenario.enclosures:
        digest.update(enclosure.model_dump_json().encode())
    if scenario.air is not None:
        digest.update(scenario.air.temp_c.tobytes() + scenario.air.rh_pct.tobytes())
        digest.update(str(scenario.air.first_day_of_year).encode())
    return digest.hexdigest()


def _text_hash() -> str:
    """Hash every file of the program, however deep it lies."""
    digest = hashlib.sha256()
    for name, item in sorted(_files_below(files("simstore"), "")):
        digest.update(name.encode())
        digest.update(item.read_bytes())
    return digest.hexdigest()


def _files_below(folder: Traversable, place: str) -> Iterator[tuple[str, Traversable]]:
    """Every file of the program with its path; what Python compiled of it does not count."""
    for item in folder.iterdir():
        if item.name.startswith("__pycache__"):
            continue
        path = f"{place}/{item.name}"
        if item.is_dir():
            yield from _files_below(item, path)
        else:
            yield path, item
