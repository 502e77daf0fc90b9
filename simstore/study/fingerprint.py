"""A hash of all that a simulation follows from, so that an old one can never answer for a new program or scenario."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.metadata import version
from importlib.resources import files

from simstore.scenario.value import Scenario


def fingerprint(scenario: Scenario, floors: tuple[str, ...]) -> str:
    """Hash a scenario with the text of the program that simulates it.

    Parameters
    ----------
    scenario : Scenario
        What a search may vary is left out: the plans that it tries are named apart.
    floors : tuple of str
        Packages of simstore whose text counts.
    """
    digest = hashlib.sha256(_program(floors).encode())
    digest.update(scenario.settings.model_dump_json(by_alias=True, exclude={"search"}).encode())
    for enclosure in scenario.enclosures:
        digest.update(enclosure.model_dump_json().encode())
    if scenario.air is not None:
        digest.update(scenario.air.temp_c.tobytes() + scenario.air.rh_pct.tobytes())
        digest.update(str(scenario.air.first_day_of_year).encode())
    return digest.hexdigest()


@cache
def _program(floors: tuple[str, ...]) -> str:
    """Hash of the versions of simstore and numpy and of every file of the floors."""
    digest = hashlib.sha256(f"{version('simstore')} {version('numpy')}".encode())
    for floor in floors:
        for item in sorted(files(f"simstore.{floor}").iterdir(), key=lambda entry: entry.name):
            if item.is_file():
                digest.update(item.read_bytes())
    return digest.hexdigest()
