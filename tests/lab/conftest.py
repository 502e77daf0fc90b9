"""The tiny store."""

from pathlib import Path

import pytest

from simstore.scenario.reading.load import load_scenario


@pytest.fixture(scope="session")
def tiny():
    return load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
