"""Finished runs in a folder, so that an interrupted study goes on where it stopped.

A run is known by a hash of all that it follows from (`simstore.lab.fingerprint`). What is kept of a run is stored as
JSON by a codec.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Generic, TypeVar

from simstore.lab.fingerprint import fingerprint
from simstore.results.metrics import MetricValue
from simstore.scenario.scenario import Scenario

Kept = TypeVar("Kept")


@dataclass(frozen=True, slots=True)
class Codec(Generic[Kept]):
    """How what is kept of a run becomes JSON and comes back; functions of a module.

    Attributes
    ----------
    name : str
        Part of the hash: what one codec wrote, no other reads.
    frozen : callable
        Makes lists, dicts, numbers and words of what was kept.
    thawed : callable
        Makes what was kept of them; raises ValueError, TypeError or KeyError where they are not what it wrote.
    """

    name: str
    frozen: Callable[[Kept], Any]
    thawed: Callable[[Any], Kept]


def thawed_metrics(rows: Any) -> tuple[MetricValue, ...]:
    """Metrics of a run, from JSON."""
    return tuple(MetricValue(str(metric), str(unit), float(value)) for metric, unit, value in rows)


METRICS: Final[Codec[tuple[MetricValue, ...]]] = Codec("metrics", list, thawed_metrics)


def read_run(path: Path, codec: Codec[Kept]) -> Kept | None:
    """Read what was kept of a run that was finished before; None where there is none, or only a broken one."""
    try:
        return codec.thawed(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError, KeyError):
        return None


def write_run(path: Path, codec: Codec[Kept], kept: Kept) -> None:
    """Write what is kept of a run in one step."""
    aside = path.with_suffix(f".{os.getpid()}")
    aside.write_text(json.dumps(codec.frozen(kept)), encoding="utf-8")
    aside.replace(path)


def run_file(folder: Path, codec: Codec[Kept], scenario: Scenario, plan: str, replication: int) -> Path:
    """Name the file of one run by a hash of the variant, the plan, the replication and this program."""
    text = json.dumps([fingerprint(scenario), codec.name, plan, replication])
    return folder / f"{hashlib.sha256(text.encode()).hexdigest()}.json"
