"""The room's hourly air from a file."""

from __future__ import annotations

from simstore.errors import Problem
from simstore.scenario.room import Climate
from simstore.scenario.value import HourlyAir


def read_air(data: bytes, name: str, climate: Climate) -> tuple[HourlyAir | None, list[Problem], list[str]]:
    """Hourly air of a climate file, what is wrong with it, and what was done to it."""
    raise NotImplementedError
