"""Takes a sheet that was filled in into a scenario: register, stock, measurements, and the day that it is now."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Final

from simstore.errors import Problem, SimstoreError, error_from
from simstore.scenario.checking.finding import suggestion
from simstore.scenario.reading.load import SCENARIO_FILE, load_given, load_scenario
from simstore.scenario.reading.measurements import COLUMNS as MEASURED
from simstore.scenario.reading.user_file import BEFORE, named_bytes, put_in_place
from simstore.scenario.returning.register_text import with_dates
from simstore.scenario.returning.sheet import DELIVERY, EXCHANGE, READ, UNLOAD, Line, read_sheet
from simstore.scenario.scenario import Scenario

MEASUREMENTS: Final = "measurements.csv"
"""Weighings, as `simstore fit` reads them."""
LOG: Final = "returned.csv"
"""Every row that was taken in, so that none is taken in twice."""
READINGS: Final = "readings.csv"


@dataclass(slots=True, kw_only=True)
class Returned:
    """What a sheet has brought.

    Attributes
    ----------
    exchanged, weighed, read, known_already : int
        Rows of each sort.
    late : list of Line
        Exchanges that were to be done by the day that it is now, and were not.
    stock : dict of str to tuple of int
        Ready and spent packets by sort.
    today : date
        First day of the scenario from now on.
    notes : list of str
        What does not add up.
    files : dict of str to bytes
        New content by name.
    """

    today: date
    exchanged: int = 0
    weighed: int = 0
    read: int = 0
    known_already: int = 0
    late: list[Line] = field(default_factory=list)
    stock: dict[str, tuple[int, int]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    files: dict[str, bytes] = field(default_factory=dict)


def returned(folder: Path, sheet: Path) -> Returned:
    """Work out what a sheet changes; nothing is written yet.

    Raises
    ------
    SimstoreError
        With every problem of the scenario or the sheet.
    """
    scenario = load_scenario(folder)
    if not folder.is_dir() or scenario.settings.register_csv is None:
        msg = f"{folder}: is not a scenario folder with a register; enclosures of [[groups]] have no rows to write into"
        raise SimstoreError(msg)
    data = named_bytes(sheet, cure="name the sheet that was filled in")
    lines, problems = read_sheet(data, sheet.name)
    problems += _unknown(lines, scenario, sheet.name)
    if problems:
        raise error_from(problems, f"sheet {sheet}")
    files = {file.name: file.data for file in scenario.files}
    log = _text(folder / LOG)
    taken = set(log.splitlines())
    fresh = [line for line in lines if line.done is not None and line.mark not in taken]
    done = [line.done for line in fresh if line.done is not None]
    found = Returned(today=max([scenario.settings.start, *done]))
    found.known_already = sum(line.done is not None and line.mark in taken for line in lines)
    _put_down(found, fresh, scenario, folder)
    exchanged = {line.subject for line in lines if line.work == EXCHANGE and line.done is not None}
    found.late = [
        line for line in lines
        if line.work == EXCHANGE and line.done is None and line.planned <= found.today and line.subject not in exchanged
    ]  # fmt: skip
    dates = {line.subject: line.done for line in fresh if line.work == EXCHANGE and line.done is not None}
    register = scenario.settings.register_csv
    found.files[register] = with_dates(files[register], register, dates, scenario.settings.list_form)
    main = next(iter(files))
    found.files[main] = _with_stock(files[main].decode("utf-8"), found).encode("utf-8")
    found.files[LOG] = (log + "".join(f"{line.mark}\n" for line in fresh)).encode("utf-8")
    load_given({**files, **{name: found.files[name] for name in files if name in found.files}})
    return found


def write_returned(found: Returned, folder: Path) -> list[str]:
    """Write the new files, the scenario's own last; scenario and register stay beside as they were."""
    written = []
    try:
        for name in sorted(found.files, key=lambda name: (name == SCENARIO_FILE, name)):
            path = folder / name
            if path.exists() and path.read_bytes() == found.files[name]:
                continue
            if path.exists() and name not in (MEASUREMENTS, LOG, READINGS):
                put_in_place(folder / BEFORE.format(name), path.read_bytes())
            put_in_place(path, found.files[name])
            written.append(name)
    except OSError as error:
        msg = f"{folder}: cannot be written ({error.strerror}); the same command goes on from there"
        raise SimstoreError(msg) from error
    return written


def _unknown(lines: Sequence[Line], scenario: Scenario, name: str) -> Iterator[Problem]:
    """Yield rows about enclosures or packets that are not there."""
    known = {each.id: each for each in scenario.enclosures}
    for line in lines:
        if line.work in (EXCHANGE, READ) and line.subject not in known:
            cure = suggestion(line.subject, known, known_as="there")
            yield Problem(
                file=name, line=line.number, key="subject", value=line.subject, rule="is not in the register", cure=cure
            )
        elif line.work in (EXCHANGE, DELIVERY) and line.packet not in scenario.settings.packets:
            cure = suggestion(line.packet, scenario.settings.packets, known_as="packets there")
            yield Problem(
                file=name,
                line=line.number,
                key="packet",
                value=line.packet,
                rule="is no packet of the store",
                cure=cure,
            )


def _put_down(found: Returned, fresh: Sequence[Line], scenario: Scenario, folder: Path) -> None:
    """Count packets, and write weighings and readings down."""
    settings = scenario.settings
    ready = Counter({name: stock.ready for name, stock in settings.stock.items()})
    spent = Counter({name: stock.spent for name, stock in settings.stock.items()})
    put_in = {each.id: each.last_regenerated for each in scenario.enclosures}
    weighings, readings = [], []
    for line in sorted(fresh, key=lambda one: one.done or date.max):
        assert line.done is not None
        if line.work == EXCHANGE:
            before = put_in[line.subject]
            if line.out_g and before is not None and before < line.done:
                weighings.append([line.subject, before, line.done, "", f"{line.out_g:g}", ""])
            put_in[line.subject] = line.done
            ready[line.packet] -= line.packets
            spent[line.packet] += line.packets
            found.exchanged += 1
        elif line.work == DELIVERY:
            ready[line.packet] += line.packets
        elif line.work == UNLOAD:
            _dried(line, ready, spent, found)
        if line.read_rh_pct is not None:
            readings.append([line.done, line.subject, f"{line.read_rh_pct:g}"])
    found.weighed, found.read = len(weighings), len(readings)
    for name, count in ready.items():
        if count < 0:
            found.notes.append(
                f"{-count} more packets '{name}' were put in than the scenario knew of: none are ready now; count them"
            )
    found.stock = {name: (max(ready[name], 0), max(spent[name], 0)) for name in settings.stock}
    if weighings:
        found.files[MEASUREMENTS] = _appended(folder / MEASUREMENTS, MEASURED, weighings)
    if readings:
        found.files[READINGS] = _appended(folder / READINGS, ("date", "enclosure", "read_rh_pct"), readings)


def _dried(line: Line, ready: Counter[str], spent: Counter[str], found: Returned) -> None:
    """Move what an oven has dried from spent to ready; a load of several sorts takes most of what there is most of."""
    left = line.packets
    for name, count in spent.most_common():
        moved = min(max(count, 0), left)
        spent[name] -= moved
        ready[name] += moved
        left -= moved
    if left:
        found.notes.append(
            f"{left} more packets came out of oven '{line.subject}' than the scenario knew to be spent: count them"
        )


def _with_stock(text: str, found: Returned) -> str:
    """Write day and stock into the scenario's text."""
    import tomlkit

    document: Any = tomlkit.parse(text)
    document["start"] = tomlkit.date(found.today.isoformat())
    for name, (ready, spent) in found.stock.items():
        document["stock"][name]["ready"], document["stock"][name]["spent"] = ready, spent
    return tomlkit.dumps(document)


def _appended(path: Path, header: Sequence[str], rows: Sequence[Sequence[object]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    before = _text(path)
    if not before:
        writer.writerow(header)
    writer.writerows(rows)
    return (before + out.getvalue()).encode("utf-8")


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8") if path.exists() else ""
    except (OSError, UnicodeDecodeError) as error:
        msg = f"{path}: cannot be read ({error}); move it away"
        raise SimstoreError(msg) from error
