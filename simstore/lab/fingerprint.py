"""A hash of all that a simulation follows from, so that an old one can never answer for a new program or scenario."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from importlib.resources.abc import Traversable

from simstore.scenario.scenario import Scenario


def fingerprint(scenario: Scenario) -> str:
    """Hash a scenario with the text of the program that simulates it.

    Parameters
    ----------
    scenario : Scenario
        What a search may vary is left out: the plans that it tries are named apart.
    """
    digest = hashlib.sha256(_program().encode())
    digest.update(scenario.settings.model_dump_json(by_alias=True, exclude={"search"}).encode())
    for enclosure in scenario.enclosures:
        digest.update(enclosure.model_dump_json().encode())
    if scenario.air is not None:
        digest.update(scenario.air.temp_c.tobytes() + scenario.air.rh_pct.tobytes())
        digest.update(str(scenario.air.first_day_of_year).encode())
    return digest.hexdigest()


@cache
def _program() -> str:
    """Hash of the versions of simstore and numpy and of every file of the program, however deep it lies."""
    digest = hashlib.sha256(f"{version('simstore')} {version('numpy')}".encode())
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
