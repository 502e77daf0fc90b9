"""What a result folder says of itself: from which scenario, seed and versions it comes, and which files are ours."""

from __future__ import annotations

import base64
import hashlib
import json
import platform
from collections.abc import Collection, Mapping, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

from simstore.scenario.scenario import Scenario, SourceFile

MANIFEST: Final = "manifest.json"
FORMAT: Final = "simstore-results"
FORMAT_NUMBER: Final = 1
PAGE: Final = "report.html"
WORKBOOK: Final = "budget.xlsx"
MADE_TO_BE_EDITED: Final = (PAGE, WORKBOOK)
"""Nothing is read back from these, so that they may be changed."""
NEVER_READ: Final = ".png"
"""Nothing is read back from pictures either, and they may be left out of a copy."""


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
        "read": [_kept(file) for file in scenario.files],
    }


def _kept(file: SourceFile) -> dict[str, str]:
    """Keep a file as its text, or in base64 (RFC 4648) where it is no UTF-8."""
    text = file.text
    kept = {"base64": base64.b64encode(file.data).decode("ascii")} if text is None else {"text": text}
    return {"name": file.name, "sha256": file.sha256, **kept}


def kept_files(facts: Mapping[str, Any]) -> dict[str, bytes]:
    """Files that the scenario was read from, byte for byte, the TOML file first."""
    return {
        file["name"]: file["text"].encode("utf-8") if "text" in file else base64.b64decode(file["base64"])
        for file in facts["read"]
    }


def write_manifest(folder: Path, facts: dict[str, Any], *, not_ours: Collection[str] = ()) -> None:
    """Write the manifest with a hash of every file that is in ``folder`` by now; call it last."""
    ours = [name for name in files_of(folder) if name != MANIFEST and name not in not_ours]
    written = {name: sha256_of(folder / name) for name in ours}
    text = json.dumps({**facts, "written": written}, indent=1, ensure_ascii=False, allow_nan=False)
    (folder / MANIFEST).write_text(text + "\n", encoding="utf-8", newline="\n")


def files_of(folder: Path) -> list[str]:
    """Names of all files in ``folder`` and below, relative to it, in order."""
    found = (path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir())
    return sorted(path.relative_to(folder).as_posix() for path in found)


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


def altered_files(folder: Path) -> list[str]:
    """Files that are not as simstore wrote them, or are gone; none where there is no manifest to go by."""
    try:
        written = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["written"]
        items = sorted(dict(written).items())
    except (OSError, ValueError, KeyError, TypeError):
        return []
    return [name for name, sha256 in items if not _is_as_written(folder / name, sha256)]


def _is_as_written(path: Path, sha256: str) -> bool:
    try:
        return path.is_file() and not path.is_symlink() and sha256_of(path) == sha256
    except OSError:
        return False


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's bytes, in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
