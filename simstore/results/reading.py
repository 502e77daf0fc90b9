"""A result folder as the report reads it: what was simulated, its tables, and the scenario it came from."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simstore.errors import SimstoreError
from simstore.plans.found import CHOSEN, FOUND_FILE, SEARCH_FILE, chosen_of, with_found_plan
from simstore.results.csv_text import MARK, read_table
from simstore.results.manifest import FORMAT, MADE_TO_BE_EDITED, MANIFEST, NEVER_READ, altered_files, kept_files
from simstore.results.summary import Measured
from simstore.results.table_columns import TABLES
from simstore.scenario.reading.load import load_given
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.settings import Settings
from simstore.statistics.estimate import Estimate
from simstore.study.compare.comparison import housed_name, with_programmes

if TYPE_CHECKING:
    import pandas as pd
"""Folders above the rebuilt scenario, so that files it names as "../x.csv" have a place too."""


@dataclass(frozen=True)
class ResultFolder:
    """What one computing command left behind.

    Attributes
    ----------
    path : Path
    facts : dict
        The manifest.
    scenario : Scenario
        As the user gave it, rebuilt from the texts in the manifest.
    summary : dict
        By plan, then by metric.
    """

    path: Path
    facts: dict[str, Any]
    scenario: Scenario
    summary: Mapping[str, Mapping[str, Measured]]

    @cached_property
    def tables(self) -> Mapping[str, pd.DataFrame]:
        """The tables that are there; each is read when it is first asked for."""
        return _Tables(self.path) if self.has_runs else {}

    @property
    def command(self) -> str:
        """What made the folder: "run", "find", ..."""
        return str(self.facts.get("command", "run"))

    @property
    def has_runs(self) -> bool:
        """Whether the tables of whole runs are there, and not only what a study keeps of them."""
        return "days.csv" in self.facts["written"]

    @property
    def replications(self) -> int:
        """Replications of each plan."""
        return int(self.facts["replications"])

    @property
    def plans(self) -> list[str]:
        """Plans in the order of the scenario, those that it does not know last."""
        known = list(self.scenario.settings.plans)
        return sorted(self.summary, key=lambda name: known.index(name) if name in known else len(known))

    def settings_of(self, plan: str) -> Settings:
        """Return the scenario's settings with the changes that ``plan`` brings."""
        if plan not in self.scenario.settings.plans:
            return self.scenario.settings
        return self.scenario.under(plan).settings

    def label_of(self, plan: str) -> str:
        """Say in words what ``plan`` is; a point of a grid by the values that it has."""
        if plan in self.scenario.settings.plans:
            return self.scenario.settings.plans[plan].label
        return self._point_labels.get(plan, plan)

    @cached_property
    def _point_labels(self) -> dict[str, str]:
        points, asked = self.study_table("points.csv"), self.facts.get("asked", {})
        if points is None or "vary" not in asked:
            return {}
        own = f"plans.{asked['plan']}."
        column = {key: f"{own}{key.removeprefix('plan.')}" if key.startswith("plan.") else key for key in asked["vary"]}
        return {
            str(row["point"]): ", ".join(f"{key.removeprefix('plan.')} {row[column[key]]}" for key in column)
            for row in points.to_dict("records")
        }

    @cached_property
    def judged(self) -> dict[str, bool]:
        """Whether each point of a grid keeps every standard, as the study judged all points together; else empty."""
        points = self.study_table("points.csv")
        if points is None or "meets_all" not in points:
            return {}
        return dict(zip(points["point"].astype(str), points["meets_all"] == "yes", strict=True))

    def document(self, name: str) -> dict[str, Any] | None:
        """Return a JSON document of the folder, None where there is none."""
        path = self.path / name
        return _json(path) if path.exists() else None

    def study_table(self, name: str) -> pd.DataFrame | None:
        """Return a CSV table that is not among those of a run, None where there is none or it is empty."""
        path = self.path / name
        if not path.exists():
            return None
        import pandas as pd

        table = pd.read_csv(path, keep_default_na=False, na_values=[""])
        texts = [name for name in table.columns if not pd.api.types.is_numeric_dtype(table[name])]
        plain = {
            name: table[name].map(lambda cell: cell.removeprefix(MARK) if isinstance(cell, str) else cell)
            for name in texts
        }
        return None if table.empty else table.assign(**plain)

    def text_of(self, name: str) -> str | None:
        """Return the text of a file that the scenario was read from."""
        return next((file.get("text") for file in self.facts["read"] if file["name"] == name), None)


class _Tables(Mapping[str, "pd.DataFrame"]):
    """Tables by name, read once, when first asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._read: dict[str, pd.DataFrame] = {}

    def __getitem__(self, name: str) -> pd.DataFrame:
        if name not in self._read:
            path = self._folder / f"{name}.csv"
            if name not in TABLES or not path.exists():
                raise KeyError(name)
            try:
                self._read[name] = read_table(path)
            except (KeyError, ValueError) as error:
                msg = f"{path}: is not a table as this version writes it ({error}); run the simulation again"
                raise SimstoreError(msg) from error
        return self._read[name]

    def __iter__(self) -> Iterator[str]:
        return (name for name in TABLES if (self._folder / f"{name}.csv").exists())

    def __len__(self) -> int:
        return sum(1 for _ in self)


def read_result_folder(path: Path) -> ResultFolder:
    """Read what a computing command wrote.

    Raises
    ------
    SimstoreError
        If ``path`` is not such a folder, or its scenario cannot be rebuilt.
    """
    if not (path / MANIFEST).exists():
        msg = f"{path}: is not a folder of results (it has no {MANIFEST}); name the --out of a simulation"
        raise SimstoreError(msg)
    facts = _json(path / MANIFEST)
    if facts.get("format") != FORMAT:
        msg = f"{path}: its {MANIFEST} is not one of simstore"
        raise SimstoreError(msg)
    altered = [name for name in altered_files(path) if name not in MADE_TO_BE_EDITED and not name.endswith(NEVER_READ)]
    if altered:
        listed = ", ".join(altered[:3]) + (", ..." if len(altered) > 3 else "")
        msg = f"{path}: not as simstore wrote it: {listed} changed or gone; run the simulation again"
        raise SimstoreError(msg)
    summary = _json(path / "summary.json")
    scenario = _scenario(facts, path)
    asked = facts.get("asked", {})
    if asked.get("programmes"):
        plans = [
            name
            for name in scenario.settings.plans
            if any(housed_name(name, programme) in asked["plans"] for programme in asked["programmes"])
        ]
        scenario, _ = with_programmes(scenario, plans, asked["programmes"])
    if (path / FOUND_FILE).exists():
        scenario = with_found_plan(scenario, _json(path / FOUND_FILE))
    if (path / SEARCH_FILE).exists() and _json(path / SEARCH_FILE)["chosen"] is not None:
        scenario = with_found_plan(scenario, chosen_of(path), name=CHOSEN)
    return ResultFolder(path=path, facts=facts, scenario=scenario, summary=_measured(summary))


def _json(path: Path) -> dict[str, Any]:
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        msg = f"{path}: cannot be read ({error}); run the simulation again"
        raise SimstoreError(msg) from error
    if not isinstance(document, dict):
        msg = f"{path}: is not a document of simstore; run the simulation again"
        raise SimstoreError(msg)
    return document


def _measured(document: dict[str, Any]) -> dict[str, dict[str, Measured]]:
    def estimate(cell: Mapping[str, Any]) -> Estimate:
        return Estimate(*(float("nan") if cell[key] is None else float(cell[key]) for key in ("mean", "low", "high")))

    return {
        plan: {name: Measured(cell["unit"], estimate(cell)) for name, cell in metrics.items()}
        for plan, metrics in document["plans"].items()
    }


def _scenario(facts: dict[str, Any], path: Path) -> Scenario:
    """Rebuild the scenario from the files that the manifest keeps."""
    try:
        files = kept_files(facts)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        msg = f"{path / MANIFEST}: does not hold the scenario as this version writes it; run the simulation again"
        raise SimstoreError(msg) from error
    return load_given(files, changes={"seed": facts["seed"]})
