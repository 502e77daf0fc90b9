"""What a result folder says of itself: from which scenario, seed and versions it comes, and which files are ours."""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

from simstore.scenario.scenario import Scenario

MANIFEST: Final = "manifest.json"
FORMAT: Final = "simstore-results"
FORMAT_NUMBER: Final = 1


def manifest_of(scenario: Scenario, *, command: str, plans: Sequence[str], replications: int) -> dict[str, Any]:
    """Everything that the results follow from; no clock, no machine, no number of workers.

    Parameters
    ----------
    scenario : Scenario
        As the user gave it, with the seed that was used.
    command : str
        What was done: "run".
    plans : sequence of str
        Plans that were simulated.
    replications : int
        Replications of each.
    """
    return {
        "format": FORMAT,
        "format_number": FORMAT_NUMBER,
        "command": command,
        "scenario": scenario.settings.title,
        "note": scenario.settings.note,
        "plans": list(plans),
        "seed": scenario.settings.seed,
        "replications": replications,
        "versions": {
            "simstore": version("simstore"),
            "python": platform.python_version(),
            "numpy": version("numpy"),
            "pandas": version("pandas"),
            "simpy": version("simpy"),
        },
        "read": [{"name": file.name, "sha256": file.sha256, "text": file.text} for file in scenario.files],
    }


def write_manifest(folder: Path, facts: dict[str, Any]) -> None:
    """Write the manifest with a hash of every file that is in ``folder`` by now; call it last."""
    written = {name: sha256_of(folder / name) for name in files_of(folder) if name != MANIFEST}
    text = json.dumps({**facts, "written": written}, indent=1, ensure_ascii=False, allow_nan=False)
    (folder / MANIFEST).write_text(text + "\n", encoding="utf-8", newline="\n")


def files_of(folder: Path) -> list[str]:
    """Names of all files in ``folder`` and below, relative to it, in order."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir())


def foreign_files(folder: Path) -> list[str]:
    """Files of ``folder`` that simstore did not write; all of them where the manifest is missing or not ours."""
    found = files_of(folder)
    try:
        facts = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        ours = facts["written"] if facts["format"] == FORMAT else {}
        known = {MANIFEST, *ours} if ours else set()
    except (OSError, ValueError, KeyError, TypeError):
        known = set()
    return [name for name in found if name not in known]


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's bytes, in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
