"""Reads a scenario from its files; everything that is wrong in any of them is said in one error."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from simstore.errors import Problem, error_from
from simstore.scenario.checking.changes import plan_findings
from simstore.scenario.checking.check import Checked, check_document
from simstore.scenario.checking.document import Document, decoded, parsed, with_catalogue, with_flat_changes
from simstore.scenario.checking.finding import Finding, dotted
from simstore.scenario.checking.keys import changed
from simstore.scenario.checking.notes import notes_on
from simstore.scenario.checking.odd_figures import odd_figures_in
from simstore.scenario.checking.rules import findings_in
from simstore.scenario.checking.rules_search import search_findings
from simstore.scenario.checking.unseen import unseen_findings
from simstore.scenario.checking.view import ROW, View
from simstore.scenario.reading.air_file import read_air
from simstore.scenario.reading.fitted_leaks import read_fitted, with_fitted_enclosures, with_fitted_kinds
from simstore.scenario.reading.known import form_of, known_of
from simstore.scenario.reading.register import Register, read_register
from simstore.scenario.reading.toml_lines import Lines, line_index, line_of
from simstore.scenario.reading.user_file import user_bytes, why
from simstore.scenario.scenario import HourlyAir, Scenario, SourceFile
from simstore.scenario.values.fitted import Fitted
from simstore.scenario.values.groups import enclosures_of
from simstore.scenario.values.plan import Scalar
from simstore.scenario.workbook.to_files import texts_of, told_by_cell

SCENARIO_FILE = "scenario.toml"
WORKBOOK = ".xlsx"


def load_scenario(path: Path, *, changes: Mapping[str, Scalar] | None = None) -> Scenario:
    """Read and check a scenario.

    Parameters
    ----------
    path : Path
        A folder that holds ``scenario.toml``, a TOML file, or a workbook; other files are named relative to it.
    changes : mapping of str to scalar, optional
        Dotted keys, such as ``"ovens.small.count"``, that are set before anything is checked.

    Returns
    -------
    Scenario
        Complete and consistent, the changes of each of its plans too.

    Raises
    ------
    SimstoreError
        With every problem of every file.
    """
    path = Path(path)
    if path.suffix.lower() == WORKBOOK:
        return _read_workbook(path, changes or {})
    file = path / SCENARIO_FILE if path.is_dir() else path
    return _read(_Reading(name=file.name, folder=file.parent), changes or {}, f"scenario {path}")


def load_given(files: Mapping[str, bytes], *, changes: Mapping[str, Scalar] | None = None) -> Scenario:
    """Read and check a scenario whose files are at hand.

    Parameters
    ----------
    files : mapping of str to bytes
        The scenario's TOML file first, then every file that it names, each under the name that is used there.
    changes : mapping of str to scalar, optional
        As for :func:`load_scenario`.

    Raises
    ------
    SimstoreError
        With every problem of every file.
    """
    name = next(iter(files))
    return _read(_Reading(name=name, folder=None, given=files), changes or {}, f"scenario {name}")


def _read_workbook(path: Path, changes: Mapping[str, Scalar]) -> Scenario:
    try:
        data = user_bytes(path)
    except (OSError, ValueError) as error:
        problem = Problem(
            file=path.name, rule=f"cannot be read ({why(error)})", cure="check the name and who may read it"
        )
        raise error_from([problem], f"scenario {path}") from error
    texts = texts_of(data, path.name)
    reading = _Reading(name=next(iter(texts.files)), folder=path.parent, given=texts.files)
    return _read(reading, changes, f"scenario {path}", lambda problems: told_by_cell(problems, texts, path.name))


def _read(
    reading: _Reading,
    changes: Mapping[str, Scalar],
    what: str,
    told: Callable[[Sequence[Problem]], Sequence[Problem]] = tuple,
) -> Scenario:
    data = reading.bytes_of(reading.name)
    text = decoded(data, reading.name) if data is not None else None
    if isinstance(text, Problem):
        reading.problems.append(text)
    scenario = _scenario(text, reading, changes) if isinstance(text, str) else None
    if scenario is None:
        raise error_from(told(reading.problems), what)
    return scenario


def scenario_from_toml_text(
    text: str, *, folder: Path | None = None, changes: Mapping[str, Scalar] | None = None
) -> Scenario:
    """Read and check a scenario whose TOML text is at hand.

    Parameters
    ----------
    text : str
        What would stand in ``scenario.toml``.
    folder : Path, optional
        Where the files that the text names are; without it the text may name none.
    changes : mapping of str to scalar, optional
        As for :func:`load_scenario`.

    Raises
    ------
    SimstoreError
        With every problem.
    """
    reading = _Reading(name=SCENARIO_FILE, folder=folder)
    scenario = _scenario(text, reading, changes or {})
    if scenario is None:
        raise error_from(reading.problems, "scenario text")
    return scenario


@dataclass(slots=True)
class _Reading:
    """What has been read so far, and where keys stand in the TOML file."""

    name: str
    folder: Path | None
    given: Mapping[str, bytes] | None = None
    lines: Lines = field(default_factory=dict)
    changed_keys: frozenset[str] = frozenset()
    problems: list[Problem] = field(default_factory=list)
    files: list[SourceFile] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def bytes_of(self, name: str, *, key: str = "") -> bytes | None:
        """Content of a file of the scenario; None, with a problem at ``key``, if it cannot be read."""
        if self.given is not None and name in self.given:
            return self._kept(name, self.given[name])
        if self.folder is None:
            fault = ("names a file, but the scenario is a text without a folder", "leave it out, or give the folder")
        else:
            try:
                data = user_bytes(self.folder / name)
            except FileNotFoundError:
                fault = ("there is no such file", f"put it into {self.folder}, or correct the name")
            except IsADirectoryError:
                fault = ("is a folder, not a file", "name a file")
            except (OSError, ValueError) as error:
                fault = (f"cannot be read ({why(error)})", "check the name and who may read it")
            else:
                return self._kept(name, data)
        rule, cure = fault
        if key:
            self.add([Finding(path=tuple(key.split(".")), value=f'"{name}"', rule=rule, cure=cure)])
        else:
            self.problems.append(Problem(file=name, rule=rule, cure=cure))
        return None

    def _kept(self, name: str, data: bytes) -> bytes:
        self.files.append(SourceFile(name, data))
        return data

    def add(self, findings: Iterable[Finding], register: Register | None = None, register_name: str = "") -> None:
        """Turn findings into problems with file and line."""
        for finding in findings:
            key = dotted(finding.path)
            file, line = self.name, line_of(self.lines, finding.path)
            if finding.path[0] == ROW and register is not None:
                file, line, key = register_name, register.lines[int(finding.path[1])], str(finding.path[2])
            elif key in self.changed_keys:
                file, line = "changes", None
            self.problems.append(
                Problem(file=file, line=line, key=key, value=finding.value, rule=finding.rule, cure=finding.cure)
            )


def _scenario(text: str, reading: _Reading, changes: Mapping[str, Scalar]) -> Scenario | None:
    raw = parsed(text, reading.name)
    if isinstance(raw, Problem):
        reading.problems.append(raw)
        return None
    reading.lines = _with_flat_paths(line_index(text))
    reading.add(unseen_findings(raw))
    document, refused = changed(with_catalogue(with_flat_changes(raw)), changes)
    reading.changed_keys = frozenset(changes)
    reading.add(refused.values())
    document, fitted = _with_fit(document, reading)
    checked = check_document(document)
    before = len(reading.problems)
    register = _register(document, checked, reading)
    register.enclosures = with_fitted_enclosures(register.enclosures, fitted)
    view = View(
        settings=checked.settings,
        names=checked.names,
        enclosures=tuple(register.enclosures),
        all_rows=len(reading.problems) == before,
    )
    findings = [*checked.findings, *findings_in(view)]
    findings.extend(search_findings(document))
    findings.extend(plan_findings(document, checked.settings.plans, list(findings), view.enclosures))
    reading.add(findings, register, str(document.get("register", "")))
    air = _air(checked, reading)
    if reading.problems:
        reading.problems.sort(key=lambda problem: (problem.file != reading.name, problem.file, problem.line or 0))
        return None
    reading.notes.extend(notes_on(view))
    reading.notes.extend(odd_figures_in(view))
    settings = checked.settings
    grouped = enclosures_of(settings.groups, seed=settings.seed, start=settings.start)
    return Scenario(
        settings=settings,
        enclosures=(*register.enclosures, *grouped),
        air=air,
        files=tuple(reading.files),
        notes=tuple(reading.notes),
        further=register.further,
    )


def _with_flat_paths(lines: Lines) -> Lines:
    """Add the dotted form of keys that stand unquoted in a plan's changes or in a search."""
    flat: Lines = {}
    for path, line in lines.items():
        if len(path) > 4 and path[0] == "plans" and path[2] == "changes":
            flat[(*path[:3], dotted(path[3:]))] = line
        elif len(path) > 3 and path[:2] == ("search", "vary"):
            flat[(*path[:2], dotted(path[2:]))] = line
    return {**flat, **lines}


def _with_fit(document: Document, reading: _Reading) -> tuple[Document, Fitted]:
    """Lay the leaks that were learnt over the kinds, and give those of the enclosures."""
    name = document.get("fit")
    data = reading.bytes_of(name, key="fit") if isinstance(name, str) and name else None
    fitted = Fitted() if data is None else read_fitted(data, str(name))
    if isinstance(fitted, Problem):
        reading.problems.append(fitted)
        return document, Fitted()
    changed_document, problems = with_fitted_kinds(document, fitted, str(name))
    reading.problems.extend(problems)
    return changed_document, fitted


def _register(document: Document, checked: Checked, reading: _Reading) -> Register:
    name = document.get("register")
    data = reading.bytes_of(name, key="register") if isinstance(name, str) else None
    if data is None:
        return Register()
    known = known_of(document, checked.names)
    register = read_register(data, str(name), known, form_of(document))
    reading.problems.extend(register.problems)
    reading.add(register.findings)
    reading.notes.extend(register.notes)
    return register


def _air(checked: Checked, reading: _Reading) -> HourlyAir | None:
    climate = checked.settings.climate
    if climate.source == "seasonal" or climate.file is None:
        return None
    data = reading.bytes_of(climate.file, key="climate.file")
    if data is None:
        return None
    air, problems, notes = read_air(data, climate.file, climate)
    reading.problems.extend(problems)
    reading.notes.extend(notes)
    return air
