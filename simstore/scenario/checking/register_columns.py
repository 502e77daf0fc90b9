"""Columns of the register by what stands in them, as the class of an enclosure has them."""

from __future__ import annotations

from datetime import date
from typing import Final

from simstore.scenario.checking.key_paths import members
from simstore.scenario.values.housing import Enclosure


def _of(kind: type) -> tuple[str, ...]:
    return tuple(name for name, info in Enclosure.model_fields.items() if kind in members(info.annotation))


COLUMNS: Final = tuple(Enclosure.model_fields)
REQUIRED: Final = tuple(name for name, info in Enclosure.model_fields.items() if info.is_required())
WHOLE: Final = _of(int)
NUMBERS: Final = _of(float)
DATES: Final = _of(date)
VOLUMES: Final = ("volume_m3", "empty_m3")
